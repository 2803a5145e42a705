"""The checker's acts: the first check agrees or differs without a number; a syringe is read blind.

Worked by hand: 865 mg ÷ 50 mg/mL = 17.3 mL, 17.5 mL at a half mark of a 30 mL syringe; diluent 20 mL a vial.
"""

from __future__ import annotations

import pytest

from cast import Cast, Hands, key
from checklists import run
from checklists.models import Person, Preparation
from checklists.refusals import (
    ChecksByField,
    Disclosed,
    MaterialsNotSeen,
    NotDrawnYet,
    NotIndependent,
    NotInspected,
    OnHold,
    OutOfOrder,
    ReckonedAmountsShown,
    SeenAlready,
    WrongRole,
)
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import everything


def check(work: Hands, volumes: dict[int, str], *, who: str = "pharmacist", seen: bool = True) -> None:
    run.recalculate(
        code=work.code,
        person=work.cast[who],
        key=key(),
        place=work.step.place,
        volumes=volumes,
        has_seen_materials=seen,
    )


def refused(kind: type[Refusal], act: object, **given: object) -> Refusal:
    before = everything()
    with pytest.raises(kind) as refusal:
        act(**given)
    assert everything() == before
    return refusal.value


@pytest.mark.parametrize("drug", ["17.3", "17.5", "17.8", "17", "18", "16.8"])
def test_the_first_check_agrees_with_the_order_or_with_the_marks(
    everybody: Cast, at_first_check: Hands, drug: str
) -> None:
    work = at_first_check
    check(work, {1: "20", 2: drug})
    assert work.step.kind == "wipe_items"
    assert not work.preparation.holds.exists()


@pytest.mark.parametrize("drug", ["18.1", "16.7", "173", "1.73", "1.75"])
def test_the_first_check_differs_in_words_and_stops_the_work(
    everybody: Cast, at_first_check: Hands, drug: str
) -> None:
    work = at_first_check
    check(work, {1: "20", 2: drug})
    hold = work.preparation.holds.get()
    assert (hold.cause, hold.draws, hold.note) == ("recalculation-differs", [2], "")
    assert hold.get_cause_display() == "the first check differs"
    with pytest.raises(OnHold, match="The work is on hold: the first check differs"):
        work.do()


def test_a_first_check_that_differed_is_taken_again_and_agrees(
    everybody: Cast, at_first_check: Hands
) -> None:
    work = at_first_check
    check(work, {1: "20", 2: "173"})
    work.resolve("check-again")
    assert work.step.kind == "first_check"
    check(work, {1: "20", 2: "17.3"}, who="third pharmacist")
    assert work.step.kind == "wipe_items"
    attempts = work.preparation.recalculations.filter(transfer=2).values_list("attempt", "agrees")
    assert list(attempts) == [(1, False), (2, True)]
    work.to_release()
    assert work.preparation.state == "released"


def test_a_difference_of_the_first_check_is_never_carried_on_from(
    everybody: Cast, at_first_check: Hands
) -> None:
    work = at_first_check
    check(work, {1: "2", 2: "17.3"})
    for way in ("carry-on", "draw-again", "read-again", "accept", ""):
        refusal = refused(Refusal, work.resolve, resolution=way)
        assert refusal.sentence.startswith("“the first check differs” is not resolved that way.")


def test_who_was_shown_the_reckoned_amounts_does_not_work_them_out_again(
    everybody: Cast, at_first_check: Hands
) -> None:
    work = at_first_check
    check(work, {1: "20", 2: "173"})
    hold = work.preparation.holds.get()
    run.see_hold(code=work.code, person=everybody["second pharmacist"], key=key(), hold=hold.pk)
    work.resolve("check-again")
    volumes = {1: "20", 2: "17.3"}
    refusal = refused(ReckonedAmountsShown, check, work=work, volumes=volumes, who="second pharmacist")
    assert refusal.sentence == (
        "Rohan Mehta-Lind has been shown the amounts of the worksheet. "
        "Another pharmacist takes the first check."
    )
    check(work, volumes, who="pharmacist")


def test_every_amount_that_cannot_be_read_is_told_at_its_field(
    everybody: Cast, at_first_check: Hands
) -> None:
    refusal = refused(ChecksByField, check, work=at_first_check, volumes={1: "1,5", 2: ""})
    assert refusal.sentence == "Some amounts cannot be read. Each says what to write."
    assert "holds a comma" in refusal.by_field["volume_1"]
    assert refusal.by_field["volume_2"] == "No amount was typed. Write the number of mL, such as 2.5."


@pytest.mark.parametrize(
    "text", ["", "twenty", "-20", "0", "1,5", "1e3", "20 mg", "x" * 10_000, "\0", "😀", "1.50", ".5", "٣"],
    ids=lambda text: ascii(text[:8]),
)  # fmt: skip
def test_the_first_check_takes_no_amount_that_is_none(
    everybody: Cast, at_first_check: Hands, text: str
) -> None:
    refusal = refused(ChecksByField, check, work=at_first_check, volumes={1: text, 2: "17.3"})
    assert list(refusal.by_field) == ["volume_1"]


def test_the_materials_are_looked_at(everybody: Cast, at_first_check: Hands) -> None:
    volumes = {1: "20", 2: "17.3"}
    refusal = refused(MaterialsNotSeen, check, work=at_first_check, volumes=volumes, seen=False)
    assert refusal.sentence == "Look at the materials, and say that you have seen them."


@pytest.mark.parametrize("who", ["technician", "supervisor"])
def test_only_a_pharmacist_checks(everybody: Cast, at_first_check: Hands, who: str) -> None:
    refused(WrongRole, check, work=at_first_check, volumes={1: "20", 2: "17.3"}, who=who)


@pytest.mark.parametrize("seen", ["17.5", "17", "18", "17.2", "17.9"])
def test_a_reading_within_half_a_mark_agrees(everybody: Cast, shown: Hands, seen: str) -> None:
    shown.see(shown.step, 2, seen)
    assert shown.preparation.readings.get(draw=2).sightings.get().agrees
    assert shown.step.kind == "swab_port"


@pytest.mark.parametrize("seen", ["18.1", "16.9", "1.75", "30", "0.1"])
def test_a_reading_beyond_half_a_mark_differs(everybody: Cast, shown: Hands, seen: str) -> None:
    shown.see(shown.step, 2, seen)
    assert not shown.preparation.readings.get(draw=2).sightings.get().agrees
    assert shown.preparation.holds.get().cause == "amounts-differ"


def test_what_was_read_first_stands(everybody: Cast, walked: Hands, shown: Hands) -> None:
    step = shown.step
    shown.see(step, 2, "17.5")
    refused(OutOfOrder, shown.see, step=step, draw=2, text="18")
    assert SeenAlready().sentence.startswith("This syringe was read already; what was typed first stands.")


def test_a_syringe_of_another_step_is_not_read_here(everybody: Cast, shown: Hands) -> None:
    # the first draw was read by this checker already, so it is refused as known
    refused(Disclosed, shown.see, step=shown.step, draw=1, text="20")
    third = everybody["third pharmacist"]
    refused(OutOfOrder, shown.see, step=shown.step, draw=1, text="20", checker=third)
    for number in (0, 3, -1, 99):
        refused(OutOfOrder, shown.see, step=shown.step, draw=number, text="20")


@pytest.mark.usefixtures("unguarded")
def test_a_syringe_that_is_not_drawn_is_not_read(everybody: Cast, shown: Hands) -> None:
    reading = shown.preparation.readings.filter(draw=2)
    reading.delete()
    refusal = refused(NotDrawnYet, shown.see, step=shown.step, draw=2, text="17.5")
    assert refusal.sentence == "This syringe is not drawn yet. Wait until the technician shows it."


def test_more_than_the_syringe_holds_is_not_taken(everybody: Cast, shown: Hands) -> None:
    refusal = refused(Refusal, shown.see, step=shown.step, draw=2, text="30.5")
    assert refusal.sentence == "30.5 mL is more than fits (30 mL). Read again and write the number of mL."


def test_a_checker_who_cannot_read_stops_the_work(everybody: Cast, shown: Hands) -> None:
    run.refuse_check(
        code=shown.code,
        person=everybody["pharmacist"],
        key=key(),
        place=shown.step.place,
        reason="the light glares",
        cannot_read=True,
    )
    hold = shown.preparation.holds.get()
    assert (hold.cause, hold.note, hold.draws) == ("cannot-read", "the light glares", [2])
    shown.resolve("read-again")
    shown.see(shown.step, 2, "17.5", everybody["pharmacist"])
    assert shown.step.kind == "swab_port"


@pytest.mark.parametrize("left_out", ["matches", "clear", "sound", "used"])
def test_the_final_check_states_every_thing_on_its_own(everybody: Cast, walked: Hands, left_out: str) -> None:
    walked.preparation.steps.filter(kind="final_check").update(finished_at=None, finished_by=None)
    stated = {name: name != left_out for name in ("matches", "clear", "sound", "used")}
    person, place = everybody["pharmacist"], walked.step.place
    facts = {"code": walked.code, "person": person, "key": key(), "place": place, "stated": stated}
    refusal = refused(NotInspected, run.inspect, **facts)
    assert refusal.sentence.startswith("Each line is inspected and marked on its own.")


def test_a_check_is_not_taken_before_the_work_has_come_to_it(everybody: Cast, shown: Hands) -> None:
    person = everybody["pharmacist"]
    for kind in ("final_check", "release", "first_check", "draw"):
        place = shown.preparation.steps.filter(kind=kind).first().place
        facts = {"code": shown.code, "person": person, "key": key(), "place": place}
        refused(OutOfOrder, run.take_check, **facts)
        refused(OutOfOrder, run.refuse_check, **facts, reason="no")


def test_a_refused_release_is_checked_again_and_only_then_released(everybody: Cast, walked: Hands) -> None:
    person, place = everybody["pharmacist"], walked.step.place
    run.refuse_check(code=walked.code, person=person, key=key(), place=place, reason="a leak at the port")
    assert walked.preparation.holds.get().cause == "check-refused"
    refused(Refusal, walked.release)
    walked.resolve("check-again")
    assert walked.step.kind == "release"
    walked.release()
    assert walked.preparation.state == "released"


def test_a_technician_who_became_a_pharmacist_does_not_check_own_work(everybody: Cast, shown: Hands) -> None:
    Person.objects.filter(pk=shown.technician.pk).update(role="pharmacist")
    risen = Person.objects.get(pk=shown.technician.pk)
    Preparation.objects.filter(code=shown.code).update(technician=everybody["second technician"])
    refusal = refused(NotIndependent, shown.see, step=shown.step, draw=2, text="17.5", checker=risen)
    assert refusal.sentence == (
        f"{risen.name} made a part of this preparation. A pharmacist who made no part of it checks it."
    )
