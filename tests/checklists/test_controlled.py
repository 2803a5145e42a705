"""What is left of a controlled medicine is destroyed before another person, or nothing is released or closed.

Source: common practice (drawn less given, and the rest of a single-dose container, witnessed); no page.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from cast import PIN, Cast, Hands, hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.collation import differences
from checklists.controlled import remainders, unaccounted
from checklists.gate import blockers
from checklists.models import Closing, SecurityEvent, Serving, Waste
from checklists.refusals import NotIdentified, WasteAmounts, WasteNotAccounted, WitnessIsYou
from compounding.formulary.models import Product
from tests.checklists.walks import beside, everything, past_the_guard, sign_in, words


@pytest.fixture(scope="module")
def at_waste(house: Cast) -> Hands:
    """A preparation from two ampoules that count as controlled for the test, added and labelled."""
    Product.objects.filter(substance__isnull=False).update(is_controlled=True)
    work = hands(house, order("aminophylline-d5w-100", "400 mg")).to("account_waste")
    Product.objects.update(is_controlled=False)
    return work


@pytest.fixture
def controlled(everybody: Cast, at_waste: Hands) -> Hands:
    Product.objects.filter(substance__isnull=False).update(is_controlled=True)
    return at_waste


def account(work: Hands, who: str = "pharmacist", *, badge: str = "", pin: str = PIN, **given: str) -> None:
    measured = {one.container: "" for one in remainders(work.preparation)}
    amounts = {name.replace("_", " "): text for name, text in given.items() if name != "reason"}
    run.account_for_waste(
        code=work.code,
        person=work.technician,
        key=key(),
        measured=measured | amounts,
        reason=given.get("reason", ""),
        witness={"badge": badge or work.cast[who].badge, "pin": pin},
    )


def reasons(work: Hands) -> list[str]:
    found = blockers(work.preparation, work.cast["pharmacist"], work.preparation.opened_at)
    return [one.sentence for one in found if "witness" in one.sentence]


def test_what_was_not_given_is_reckoned_for_each_opened_container(controlled: Hands) -> None:
    """400 mg at 25 mg/mL is 16 mL, 8 mL of each 10 mL ampoule."""
    found = [(one.container, one.full, one.given, one.waste) for one in remainders(controlled.preparation)]
    assert found == [("ampoule 1", 10, 8, 2), ("ampoule 2", 10, 8, 2)]


def test_the_gate_names_what_is_not_accounted_for(controlled: Hands) -> None:
    left = "2 mL left of aminophylline 250 mg per 10 mL ampoule"
    assert reasons(controlled) == [
        f"{left} (ampoule {number}) is not accounted for with a witness." for number in (1, 2)
    ]


def test_measured_and_witnessed_the_work_goes_on_to_release(controlled: Hands) -> None:
    account(controlled, ampoule_1="2", ampoule_2="2.1")
    assert reasons(controlled) == []
    assert controlled.step.kind != "account_waste"
    controlled.to_release()
    assert controlled.preparation.state == "released"
    assert first_fault(controlled.preparation) is None
    record = words(sign_in(controlled.cast["supervisor"]).get(reverse("record", args=[controlled.code])))
    assert "Controlled medicine destroyed" in record
    assert "ampoule 2 2 mL 2.1 mL Mara Okonjo" in record
    assert "Ilse Varga –" in record


def test_nobody_is_their_own_witness_and_a_wrong_pin_is_counted(controlled: Hands) -> None:
    before = everything()
    with pytest.raises(WitnessIsYou):
        account(controlled, badge=controlled.technician.badge, ampoule_1="2", ampoule_2="2")
    for badge, pin in (("", "1357"), ("B0000000X", PIN), (" ", PIN)):
        with pytest.raises(NotIdentified):
            account(controlled, badge=badge, pin=pin, ampoule_1="2", ampoule_2="2")
    assert everything() == before
    assert SecurityEvent.objects.filter(what="wrong PIN").exists()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("1.5", "By label and draws 2 mL should be left"),
        ("", "Write"),
        ("x", "number"),
        ("0", "should be left"),
    ],
)
def test_another_amount_wants_a_reason_and_all_is_said_at_once(
    controlled: Hands, typed: str, says: str
) -> None:
    with pytest.raises(WasteAmounts) as refused:
        account(controlled, ampoule_1=typed, ampoule_2=typed)
    assert set(refused.value.by_field) == {"ampoule 1", "ampoule 2"}
    assert says in refused.value.by_field["ampoule 1"]


def test_with_a_reason_it_is_kept_as_measured(controlled: Hands) -> None:
    account(controlled, ampoule_1="1.5", ampoule_2="2", reason="half a mL was spilled and wiped up")
    assert reasons(controlled) == []
    assert "half a mL was spilled" in controlled.preparation.entries.get(act="account for waste").text


def test_by_its_page_with_what_was_typed_still_on_it(controlled: Hands) -> None:
    tablet, where = sign_in(controlled.technician), reverse("account_for_waste", args=[controlled.code])
    page = tablet.get(where)
    assert "Another person has seen it" in words(page)
    assert "2 mL" not in words(page), "what should be left is not told before it is measured"
    told = {"waste-ampoule-1": "3", "waste-ampoule-2": "2", "badge": controlled.cast["pharmacist"].badge}
    refused = tablet.post(where, {**told, "pin": PIN})
    assert refused.status_code == 409
    assert 'value="3"' in refused.content.decode()
    assert PIN not in refused.content.decode()
    assert tablet.post(where, {**told, "waste-ampoule-1": "2", "pin": PIN}).status_code == 302
    assert reasons(controlled) == []
    assert tablet.post(where, {**told, "pin": PIN}).status_code == 409, "nothing is left to account for"
    stranger = sign_in(controlled.cast["second technician"])
    assert stranger.post(where, {**told, "pin": PIN}).status_code == 409


def test_given_up_all_of_it_is_destroyed_and_nothing_else_begins_before(controlled: Hands) -> None:
    run.abandon(code=controlled.code, person=controlled.technician, key=key(), reason="the bag leaks")
    assert [one.waste for one in unaccounted(controlled.preparation)] == [10, 10]
    assert not Closing.objects.filter(preparation=controlled.preparation).exists()
    assert "Controlled waste: call a witness" in words(sign_in(controlled.technician).get(reverse("to_make")))
    with pytest.raises(WasteNotAccounted):
        hands(controlled.cast, order("ondansetron-nacl-50", "8 mg"))
    account(controlled, ampoule_1="10", ampoule_2="10")
    assert Closing.objects.filter(preparation=controlled.preparation).exists()
    hands(controlled.cast, order("ondansetron-nacl-50", "8 mg"))


def test_of_a_medicine_that_is_none_nothing_is_asked(everybody: Cast, at_waste: Hands) -> None:
    assert remainders(at_waste.preparation) == ()
    assert reasons(at_waste) == []


def test_what_was_lost_is_compared_with_its_entries(everybody: Cast, house: Cast) -> None:
    work = beside(house, order("ondansetron-nacl-50", "8 mg")).to("show")
    run.report_mishap(code=work.code, person=work.technician, key=key(), reason="dropped-syringe", choice="1")
    assert list(differences(work.preparation)) == []
    lost = Waste.objects.filter(preparation=work.preparation).first()
    with past_the_guard():
        Waste.objects.filter(pk=lost.pk).update(volume_ml=Decimal("0.1"))
    (said,) = differences(work.preparation)
    assert said.endswith("a loss that it made was changed or is missing")
    with past_the_guard():
        Waste.objects.filter(pk=lost.pk).update(volume_ml=lost.volume_ml)
        Serving.objects.create(
            preparation=work.preparation, mishap=lost.mishap, draw=1, container="vial 1", served_by="vial 9"
        )
    (said,) = differences(work.preparation)
    assert said == "a further container's use stands beside the record that no entry made"
