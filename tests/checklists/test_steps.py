"""The order of the work: only the current step finishes, by its own technician, once, in its time."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from cast import Cast, Hands, key, order
from checklists import run
from checklists.refusals import (
    LabelNotPrinted,
    MoreThanSyringe,
    NoSuchPreparation,
    NotAStepOfYours,
    NothingTyped,
    NotOpen,
    NotYours,
    OutOfOrder,
    ReasonNotWords,
    ReasonTooLong,
    TooEarly,
)
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside, everything

NOT_THE_ONE = (
    "This step is not the one the work has come to. Nothing was changed; go on with the step shown now."
)


@pytest.fixture(scope="module")
def dwelling(house: Cast) -> Hands:
    """A preparation at the drying of its wiped items."""
    return beside(house, order("ondansetron-nacl-50", "8 mg")).to("wipe_items")


@pytest.fixture(scope="module")
def drawing(house: Cast) -> Hands:
    """A preparation at its first draw: 4 mL in a 5 mL syringe."""
    return beside(house, order("ondansetron-nacl-50", "8 mg")).to("draw")


def refused(work: Hands, kind: type[Refusal], place: int, who: str = "", **given: str) -> str:
    """Return the sentence of a refusal that changed nothing."""
    before = everything()
    person = work.cast[who] if who else work.technician
    with pytest.raises(kind) as refusal:
        run.finish_step(code=work.code, person=person, key=key(), place=place, given=given)
    assert everything() == before
    return refusal.value.sentence


def test_every_other_step_than_the_current_one_is_refused(everybody: Cast, dwelling: Hands) -> None:
    places = dwelling.preparation.steps.exclude(pk=dwelling.step.pk).values_list("place", flat=True)
    assert len(places) > 20
    for place in places:
        assert refused(dwelling, OutOfOrder, place, reason="now", stands="1") == NOT_THE_ONE


@pytest.mark.parametrize("place", [0, -1, 1, 2**31, 2**63, 2**80])
def test_a_place_where_no_step_is_is_refused(everybody: Cast, dwelling: Hands, place: int) -> None:
    assert refused(dwelling, OutOfOrder, place, reason="now") == NOT_THE_ONE


def test_a_step_sent_twice_is_done_once_and_answers_the_same(everybody: Cast, drawing: Hands) -> None:
    place, once = drawing.step.place, key()
    for _sent in range(2):
        answer = run.finish_step(
            code=drawing.code, person=drawing.technician, key=once, place=place, given={"stands": "1"}
        )
        assert answer.code == drawing.code
    assert drawing.preparation.readings.count() == 1
    assert drawing.preparation.entries.filter(key=f"finish_step {once}").count() == 1
    after = everything()
    run.finish_step(code=drawing.code, person=drawing.technician, key=once, place=place, given={})
    assert everything() == after


def test_a_checkers_step_is_not_the_technicians_to_finish(everybody: Cast, at_first_check: Hands) -> None:
    work = at_first_check
    assert refused(work, OutOfOrder, work.step.place) == NOT_THE_ONE
    assert NotAStepOfYours().sentence == "A pharmacist finishes this step."


@pytest.mark.parametrize("who", ["second technician", "pharmacist", "supervisor"])
def test_nobody_else_finishes_a_technicians_step(everybody: Cast, drawing: Hands, who: str) -> None:
    said = refused(drawing, NotYours, drawing.step.place, who, stands="1")
    name = drawing.technician.name
    assert said.endswith(f"is {name}'s work. To take it over, {name} pauses it first.")


def test_a_paused_preparation_goes_no_further(everybody: Cast, drawing: Hands) -> None:
    run.pause(code=drawing.code, person=drawing.technician, key=key(), reason="a break")
    assert "is paused; this step cannot be done now" in refused(drawing, NotOpen, drawing.step.place)


def test_a_code_that_is_no_preparations_is_refused(everybody: Cast) -> None:
    with pytest.raises(NoSuchPreparation, match="No preparation is named PXXXXXXXX"):
        run.finish_step(code="PXXXXXXXX", person=everybody["technician"], key=key(), place=1, given={})


def test_a_dwell_does_not_end_early_without_a_reason(everybody: Cast, dwelling: Hands) -> None:
    began = dwelling.step.started_at
    for passed, left in ((0, 30), (1, 29), (29, 1)):
        with time_machine.travel(began + timedelta(seconds=passed), tick=False):
            assert refused(dwelling, TooEarly, dwelling.step.place) == (
                f"{left} seconds are left. Wait until they have passed, or write why you end it early."
            )


def test_a_dwell_ends_by_the_servers_clock_not_the_devices(everybody: Cast, dwelling: Hands) -> None:
    step = dwelling.step
    with time_machine.travel(step.started_at + timedelta(seconds=29.9), tick=False):
        refused(dwelling, TooEarly, step.place, device_at="2099-01-01T00:00:00Z", left="0", seconds="0")
    with time_machine.travel(step.started_at + timedelta(seconds=30), tick=False):
        dwelling.finish(step)
    step.refresh_from_db()
    assert step.finished_at - step.started_at == timedelta(seconds=30)
    assert step.reason == ""


def test_a_clock_set_back_ends_no_dwell(everybody: Cast, dwelling: Hands) -> None:
    with time_machine.travel(dwelling.step.started_at - timedelta(hours=1), tick=False):
        refused(dwelling, TooEarly, dwelling.step.place)


def test_a_dwell_ended_early_keeps_its_reason_in_the_record(everybody: Cast, dwelling: Hands) -> None:
    step = dwelling.step
    with time_machine.travel(step.started_at + timedelta(seconds=10), tick=False):
        dwelling.finish(step, reason="the ward waits in theatre")
    step.refresh_from_db()
    assert step.reason == "the ward waits in theatre"
    entry = dwelling.preparation.entries.last()
    assert '"left":20' in entry.text
    assert '"reason":"the ward waits in theatre"' in entry.text


def test_a_reason_the_record_cannot_keep_is_refused(everybody: Cast, dwelling: Hands) -> None:
    place = dwelling.step.place
    with time_machine.travel(dwelling.step.started_at, tick=False):
        assert refused(dwelling, ReasonTooLong, place, reason="x" * 301) == (
            "The reason is too long. Write it in at most 300 characters."
        )
        refused(dwelling, ReasonTooLong, place, reason="x" * 10_000)
        refused(dwelling, ReasonNotWords, place, reason="a\0b")
        refused(dwelling, TooEarly, place, reason=" \n ")


VOLUMES = {
    "": "No amount was typed. Write the number of mL, such as 2.5.",
    "four": "is not an amount",
    "-4": "is not more than zero",
    "0": "is not more than zero",
    "4,0": "holds a comma",
    "1,5": "holds a comma",
    "1e3": "is not an amount",
    "4 mL": "is not an amount",
    "4 litres": "is not an amount",
    "4.0": "ends in a zero after the point",
    "1.50": "ends in a zero after the point",
    ".5": "has a point without a digit before and after it",
    "5.": "has a point without a digit before and after it",
    "04": "without a zero in front",
    "٣": "Write the digits 0 to 9",
    "\uff14": "Write the digits 0 to 9",
    "😀": "holds a character that is not allowed",
    "4\0": "holds a character that is not allowed",
    "4" * 10_000: "too long for an amount",
    "5.2": "5.2 mL is more than fits (5 mL)",
    "NaN": "is not an amount",
    "Infinity": "is not an amount",
}


@pytest.mark.parametrize("typed", VOLUMES, ids=lambda text: ascii(text[:12]))
def test_a_drawn_amount_that_cannot_be_is_refused_in_words(
    everybody: Cast, drawing: Hands, typed: str
) -> None:
    kind = {"": NothingTyped, "5.2": MoreThanSyringe}.get(typed, Refusal)
    assert VOLUMES[typed] in refused(drawing, kind, drawing.step.place, volume=typed)


def test_a_full_syringe_is_an_amount(everybody: Cast, drawing: Hands) -> None:
    drawing.finish(drawing.step, volume="5")
    assert drawing.preparation.readings.get().volume_ml == 5


def test_the_label_step_is_not_finished_without_a_label(everybody: Cast) -> None:
    work = beside(everybody, order("ketorolac-syringe", "30 mg"))
    while work.step.kind != "print_label":
        work.do()
    assert refused(work, LabelNotPrinted, work.step.place) == (
        "The label is not printed yet. Press “Print”, then finish the step."
    )


def test_every_finished_step_has_its_start_its_end_and_its_person(everybody: Cast, walked: Hands) -> None:
    steps = list(walked.preparation.steps.exclude(finished_at=None))
    assert len(steps) == 37
    for before, step in zip([None, *steps], steps, strict=False):
        assert step.started_at <= step.finished_at <= timezone.now()
        assert before is None or step.started_at == before.finished_at
        checker = step.kind in {"first_check", "show", "final_check"}
        assert step.finished_by == walked.cast["pharmacist" if checker else "technician"]
