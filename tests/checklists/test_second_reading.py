"""Where the site asks for it a second pharmacist reads each draw too: as blind, and apart from the first.

Source: independent double checks of high-alert and hazardous medicines, common practice; shared design 1.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from cast import Cast, Hands, hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.gate import blockers
from checklists.independence import read_twice
from checklists.method.second_reading import is_second
from checklists.models import Sighting
from checklists.refusals import Disclosed
from compounding.formulary.policy import change_policy
from compounding.reckoning.quantities import number_in
from tests.checklists.walks import past_the_guard, sign_in, words

SECOND = "third pharmacist"  # as the cast's hands have it


@pytest.fixture(scope="module")
def first_read(house: Cast) -> Hands:
    """Heparin, a high-alert medicine: the first pharmacist has read its draw, 5 mL in a 10 mL syringe."""
    change_policy(reason="agreed", by="test", second_reader="high-alert")
    work = hands(house, order("heparin-d5w-250", "25000 units")).to("show")
    work.do()
    change_policy(reason="as it was", by="test", second_reader="never")
    return work


def row_of_list(work: Hands, who: str) -> str:
    return words(sign_in(work.cast[who]).get(reverse("waiting")))


def reasons(work: Hands) -> list[str]:
    found = blockers(work.preparation, work.cast["pharmacist"], work.preparation.opened_at)
    return [one.sentence for one in found if "two pharmacists" in one.sentence]


def test_the_policy_at_opening_decides(everybody: Cast, first_read: Hands) -> None:
    assert read_twice(first_read.preparation) == {1}
    assert is_second(first_read.step)
    later = hands(everybody, order("vancomycin-nacl-250", "1100 mg"), technician="second technician")
    assert read_twice(later.preparation) == set()


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [("never", set()), ("hazardous", {1}), ("high-alert", {1}), ("hazardous or high-alert", {1})],
)
def test_hazardous_and_high_alert_medicines_are_told_apart(
    everybody: Cast, first_read: Hands, asked: str, wanted: set[int]
) -> None:
    change_policy(reason="agreed", by="test", second_reader=asked)
    work = hands(everybody, order("fluorouracil-nacl-500", "800 mg"), technician="second technician")
    assert read_twice(work.preparation) == wanted
    potassium = everybody["second technician"]
    run.abandon(code=work.code, person=potassium, key=key(), reason="for the test")
    vancomycin = hands(everybody, order("vancomycin-nacl-250", "1 g"), technician="second technician")
    assert read_twice(vancomycin.preparation) == set()


def test_the_phones_and_the_tablet_say_that_a_second_is_wanted(everybody: Cast, first_read: Hands) -> None:
    assert "Draw shown, second reading" in row_of_list(first_read, SECOND)
    first = row_of_list(first_read, "pharmacist")
    assert "Ilse Varga has read this draw already. Another pharmacist reads it now." in first
    tablet = words(sign_in(first_read.technician).get(reverse("step", args=[first_read.code])))
    assert "a second pharmacist to read" in tablet
    assert "Ilse Varga" not in tablet


def test_the_first_is_shown_no_amount_before_the_second_has_read(everybody: Cast, first_read: Hands) -> None:
    place = first_read.preparation.steps.filter(kind="show").first().place
    phone, where = sign_in(everybody["pharmacist"]), reverse("committed", args=[first_read.code, place])
    answer = words(phone.get(where))
    assert "A second pharmacist reads the same, and the amounts are not shown before." in answer
    assert "5 mL" not in answer
    first_read.do()
    both = words(phone.get(where))
    assert "You saw 5 mL" in both
    assert "Beatriz Quiroga saw 5 mL" in both


def test_nobody_reads_twice(everybody: Cast, first_read: Hands) -> None:
    with pytest.raises(Disclosed):
        first_read.see(first_read.step, 1, "5", everybody["pharmacist"])


def test_what_both_saw_is_compared_too(everybody: Cast, first_read: Hands) -> None:
    """4.9 mL and 5.1 mL agree with 5 mL to half a mark (0.1 mL), but not with each other."""
    with past_the_guard():
        Sighting.objects.filter(reading__preparation__code=first_read.code).update(volume_ml=Decimal("4.9"))
    first_read.see(first_read.step, 1, "5.1", everybody[SECOND])
    assert first_read.preparation.holds.get().cause == "amounts-differ"
    first_read.resolve("read-again", everybody["pharmacist"])
    first_read.see(first_read.step, 1, "5", everybody["second pharmacist"])
    assert not first_read.preparation.holds.filter(resolved_at=None).exists()
    assert not is_second(first_read.step)


def test_a_syringe_drawn_again_is_read_by_two_again(everybody: Cast, first_read: Hands) -> None:
    first_read.see(first_read.step, 1, "6", everybody[SECOND])
    first_read.resolve("draw-again", everybody["pharmacist"])
    first_read.checker = everybody["second pharmacist"]
    first_read.to("show").do()
    assert is_second(first_read.step), "both have seen the first filling; nobody is left"
    assert reasons(first_read) == [
        "Draw 1 needs two pharmacists who read it and agree; there is one or none."
    ]


def test_a_syringe_lost_while_the_second_reads_is_read_by_two(everybody: Cast, first_read: Hands) -> None:
    run.report_mishap(
        code=first_read.code, person=first_read.technician, key=key(), reason="dropped-syringe", choice="1"
    )
    kinds = [
        (one.kind, "second" in one.about)
        for one in first_read.preparation.steps.filter(finished_at=None, kind="show")
    ]
    assert kinds == [("show", False), ("show", True)]


@pytest.mark.usefixtures("unguarded")
def test_released_only_when_two_have_read(everybody: Cast, first_read: Hands) -> None:
    first_read.to("release")
    assert reasons(first_read) == []
    assert first_fault(first_read.preparation) is None
    record = words(sign_in(everybody["supervisor"]).get(reverse("record", args=[first_read.code])))
    assert "Beatriz Quiroga" in record
    assert record.count("Ilse Varga") > 1
    Sighting.objects.filter(step=first_read.preparation.steps.filter(kind="show").last()).delete()
    assert reasons(first_read) == [
        "Draw 1 needs two pharmacists who read it and agree; there is one or none."
    ]


def test_half_a_mark_of_this_syringe_is_a_tenth(first_read: Hands, everybody: Cast) -> None:
    draw = first_read.worksheet.draw(1)
    assert (number_in(draw.target, "mL"), number_in(draw.syringe.mark, "mL")) == (5, Decimal("0.2"))
