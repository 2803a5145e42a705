"""Work done on paper in a downtime is entered afterwards by two people, and never looks like work done here.

Source: the issue's own list (back-entry marked as such); the three amounts: shared design 1.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from cast import PIN, Cast, hands, key, order, usable_lot
from checklists import run
from checklists.audit import first_fault
from checklists.collation import differences
from checklists.models import Closing, Material, Preparation
from checklists.refusals import AlreadyBeingMade, PaperFaults, SecondIsYou
from checklists.sealing import site_faults
from checklists.worklists import orders, period, supervision
from compounding.formulary.models import Order
from compounding.formulary.worksheets import for_order
from compounding.reckoning.quantities import number_in, write_number
from compounding.reckoning.worksheet import Worksheet
from tests.checklists.walks import everything, past_the_guard, sign_in, words


@pytest.fixture
def asked(everybody: Cast) -> Order:
    """An order of two hours ago."""
    with time_machine.travel(timezone.now() - timedelta(hours=2)):
        return order("ondansetron-nacl-50", "8 mg")


def worksheet_of(asked: Order) -> Worksheet:
    return for_order(asked, started_at=timezone.now())


def sheet(asked: Order, house: Cast, **changed: str) -> dict[str, str]:
    """What an honest paper says."""
    now, found = timezone.localtime(timezone.now()), worksheet_of(asked)
    typed = {
        "sheet": asked.number,
        "reason": "network down from 9:10",
        "began": (now - timedelta(minutes=80)).strftime("%Y-%m-%dT%H:%M"),
        "ended": (now - timedelta(minutes=50)).strftime("%Y-%m-%dT%H:%M"),
        "made_by": str(house["technician"].pk),
        "seen_by": str(house["pharmacist"].pk),
        "released_by": str(house["second pharmacist"].pk),
    }
    for number, one in enumerate(found.containers, 1):
        typed[f"lot-{number}"] = usable_lot(one.product).number
    for draw in found.draws:
        volume = write_number(number_in(draw.target, "mL"), 3)
        typed |= {f"{kind}-{draw.number}": volume for kind in ("required", "drawn", "seen")}
    return typed | changed


def enter(
    asked: Order, house: Cast, by: str = "technician", second: str = "third pharmacist", **changed: str
):
    return run.enter_from_paper(
        order=asked,
        person=house[by],
        key=changed.pop("once", key()),
        typed=sheet(asked, house, **changed),
        second={"badge": house[second].badge, "pin": PIN},
    )


def test_it_is_entered_once_proved_closed_and_gone_from_the_list(everybody: Cast, asked: Order) -> None:
    made = enter(asked, everybody, once="one press")
    assert enter(asked, everybody, once="one press") == made
    assert made.state == Preparation.State.ON_PAPER
    assert first_fault(made) is None
    assert list(differences(made)) == []
    assert Closing.objects.filter(preparation=made).exists()
    assert list(site_faults()) == []
    assert asked.number not in {row.number for row in orders.active_rows()}
    with pytest.raises(AlreadyBeingMade):
        enter(asked, everybody)
    with pytest.raises(AlreadyBeingMade):
        hands(everybody, asked)


def test_a_lot_changed_beside_it_is_found(everybody: Cast, asked: Order) -> None:
    made = enter(asked, everybody)
    with past_the_guard():
        Material.objects.filter(pk=made.materials.first().pk).update(container="vial 9")
    assert list(differences(made)) == ["entry 1: a container that it made was changed or is missing"]


def test_wherever_it_is_named_it_says_so_and_it_is_no_timing(everybody: Cast, asked: Order) -> None:
    made = enter(asked, everybody)
    desk = sign_in(everybody["supervisor"])
    record = words(desk.get(reverse("record", args=[made.code])))
    assert "Done on paper, entered afterwards. Entered by Mara Okonjo with Beatriz Quiroga" in record
    assert "Released on paper, entered afterwards" in record
    assert "The three amounts, as the paper has them" in record
    assert "The three amounts of each syringe" not in record
    assert "network down from 9:10" in record
    assert "Begun" not in record
    page = words(desk.get(reverse("order", args=[asked.number])))
    assert "released on paper, entered afterwards" in page
    assert made.code not in {row.identity.url_code for row in supervision.finished_rows()}
    assert all(made.code not in line for line in supervision.csv_rows())
    assert desk.get(reverse("finished_one", args=[made.code])).status_code == 409
    tablet = sign_in(everybody["technician"]).get(reverse("step", args=[made.code]))
    assert tablet.status_code == 409
    assert "was made on paper" in words(tablet)


def test_the_export_says_it_in_every_part(everybody: Cast, asked: Order) -> None:
    made = enter(asked, everybody)
    (found,) = period.ended_between(timezone.now() - timedelta(days=1), timezone.now() + timedelta(days=1))
    assert period.whole(found)["state"] == "on-paper"
    assert list(period.preparation_rows([made]))[1][1] == "on-paper"
    amounts = list(period.amount_rows([made]))[1:]
    assert {line[2] for line in amounts} == {"on paper"}
    assert len(amounts) == len(worksheet_of(order("ondansetron-nacl-50", "8 mg")).draws)


def test_a_recall_finds_it(everybody: Cast, asked: Order) -> None:
    made = enter(asked, everybody)
    lot = made.materials.order_by("pk").first().lot
    page = words(sign_in(everybody["pharmacist"]).get(reverse("lot", args=[lot.pk])))
    assert "released on paper, entered afterwards" in page.lower()


@pytest.mark.parametrize(
    ("changed", "field", "says"),
    [
        ({"sheet": ""}, "sheet", ""),
        ({"sheet": "B8D19AKRM"}, "sheet", "badge"),
        ({"reason": " "}, "reason", "reason"),
        ({"began": "9:10"}, "began", "date and time"),
        ({"began": "2020-01-01T09:10"}, "began", "not before the order"),
        ({"ended": "2126-01-01T09:10"}, "ended", "not in the future"),
        ({"made_by": ""}, "made_by", "a technician"),
        ({"seen_by": "x"}, "seen_by", "a pharmacist"),
        ({"lot-1": "NONE"}, "lot-1", "No such lot"),
        ({"drawn-1": ""}, "drawn-1", ""),
        ({"required-1": "3.6"}, "required-1", "The order comes to 4 mL, the paper says 3.6 mL."),
        ({"seen-1": "3"}, "required-1", "The three amounts do not agree"),
    ],
)  # fmt: skip
def test_what_the_paper_cannot_say_is_refused_at_its_field(
    everybody: Cast, asked: Order, changed: dict[str, str], field: str, says: str
) -> None:
    before = everything()
    with pytest.raises(PaperFaults) as refused:
        enter(asked, everybody, **changed)
    assert list(refused.value.by_field) == [field]
    assert says in refused.value.by_field[field]
    assert everything() == before


def test_two_people_enter_it_the_second_a_pharmacist(everybody: Cast, asked: Order) -> None:
    for by, second in (("pharmacist", "pharmacist"), ("technician", "second technician")):
        with pytest.raises(SecondIsYou):
            enter(asked, everybody, by, second)


def test_by_its_page(everybody: Cast, asked: Order) -> None:
    browser = sign_in(everybody["technician"])
    where = reverse("enter_from_paper", args=[asked.number])
    assert where in browser.get(reverse("order", args=[asked.number])).content.decode()
    assert "Copy what stands on the sheets." in words(browser.get(where))
    told = {**sheet(asked, everybody), "badge": everybody["pharmacist"].badge, "pin": PIN}
    refused = browser.post(where, {**told, "seen-1": "3"})
    assert refused.status_code == 409
    assert "do not agree" in words(refused)
    assert 'value="network down from 9:10"' in refused.content.decode()
    done = browser.post(where, told)
    assert done.status_code == 302
    assert browser.get(where).status_code in (200, 409)
