"""Counted steps: one unit at a time, in order, each once, each with its stamp and its entry.

Source: the issue (per-unit stamps, a double press never counts two); shared design 1.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from cast import Cast, Hands, key, stock_batch
from checklists import run, timings
from checklists.audit import first_fault
from checklists.counting import items_left
from checklists.models import Stamp
from checklists.refusals import LabelOfAnotherUnit, NotThisUnit, OutOfOrder
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside, everything


@pytest.fixture(scope="module")
def drawing(house: Cast) -> Hands:
    """A batch of twelve, nothing drawn yet."""
    return beside(house, stock_batch()).to("draw_units")


@pytest.fixture(scope="module")
def labelling(house: Cast) -> Hands:
    """A batch of twelve, drawn and seen."""
    return beside(house, stock_batch()).to("label_units")


def press(work: Hands, unit: str, once: str = "", **given: str) -> None:
    given = {"unit": unit, "stands": "at the mark", **given}
    run.finish_step(
        code=work.code, person=work.technician, key=once or key(), place=work.step.place, given=given
    )


def counted(work: Hands) -> list[int]:
    return list(Stamp.objects.filter(step=work.step).values_list("unit", flat=True))


def test_every_unit_has_its_own_reading_stamp_and_entry(everybody: Cast, drawing: Hands) -> None:
    step = drawing.step
    for _unit in range(3):
        drawing.do_unit()
    assert counted(drawing) == [1, 2, 3]
    readings = drawing.preparation.readings.order_by("draw").values_list("draw", "attempt", "is_at_mark")
    assert list(readings) == [(1, 1, True), (2, 1, True), (3, 1, True)]
    told = [json.loads(entry.text)["facts"] for entry in drawing.preparation.entries.filter(act="unit done")]
    assert [(one["step"], one["unit"], one["draw"]) for one in told] == [
        ("draw_units", number, number) for number in (1, 2, 3)
    ]
    assert drawing.step == step
    assert first_fault(drawing.preparation) is None


def test_the_step_ends_with_its_last_unit_and_not_before(everybody: Cast, drawing: Hands) -> None:
    step = drawing.step
    for _unit in range(11):
        drawing.do_unit()
    assert drawing.step == step
    drawing.do_unit()
    assert drawing.step.kind == "show"
    finished = drawing.preparation.entries.filter(act="finish").last()
    assert json.loads(finished.text)["facts"] == {"step": "draw_units", "place": step.place, "units": 12}


def test_a_press_sent_twice_counts_once(everybody: Cast, drawing: Hands) -> None:
    once = key()
    for _sent in range(2):
        press(drawing, "1", once)
    assert counted(drawing) == [1]


def test_a_unit_pressed_again_from_a_stale_screen_counts_once(everybody: Cast, drawing: Hands) -> None:
    press(drawing, "1")
    before = everything()
    press(drawing, "1")
    press(drawing, "1", volume="1", stands="")
    assert everything() == before


@pytest.mark.parametrize("unit", ["", "2", "12", "13", "0", "-1", "one", "1.0", "\0", "9" * 5000, "\u0661"])
def test_only_the_unit_that_is_due_is_counted(everybody: Cast, drawing: Hands, unit: str) -> None:
    before = everything()
    with pytest.raises(NotThisUnit) as refusal:
        press(drawing, unit)
    assert "Nothing was counted; go on with unit 1." in refusal.value.sentence
    assert everything() == before


def test_the_last_unit_pressed_again_does_not_finish_what_follows(everybody: Cast, labelling: Hands) -> None:
    step = labelling.step
    for _unit in range(12):
        labelling.do_unit()
    before = everything()
    with pytest.raises(OutOfOrder):
        run.finish_step(
            code=labelling.code,
            person=labelling.technician,
            key=key(),
            place=step.place,
            given={"unit": "12"},
        )
    assert everything() == before


def test_an_amount_elsewhere_is_that_units_own(everybody: Cast, drawing: Hands) -> None:
    press(drawing, "1")
    press(drawing, "2", stands="", volume="1.6")
    assert [str(one.volume_ml.normalize()) for one in drawing.preparation.readings.order_by("draw")] == [
        "2",
        "1.6",
    ]


def test_an_unreadable_amount_counts_nothing(everybody: Cast, drawing: Hands) -> None:
    before = everything()
    for text in ("", "1,5", "7", "two"):
        with pytest.raises(Refusal):
            press(drawing, "1", stands="", volume=text)
    assert everything() == before


def test_each_label_is_its_own_scan_and_the_neighbours_is_refused(everybody: Cast, labelling: Hands) -> None:
    codes = dict(labelling.preparation.labels.values_list("unit", "code"))
    press(labelling, "1", scan=codes[1])
    for other in (1, 3):
        with pytest.raises(LabelOfAnotherUnit, match=f"the label of unit {other}; unit 2 is labelled now"):
            press(labelling, "2", scan=codes[other])
    press(labelling, "2", scan=codes[2])
    assert counted(labelling) == [1, 2]
    done = labelling.preparation.labels.exclude(scanned_back_at=None).values_list("unit", flat=True)
    assert sorted(done) == [1, 2]


def test_work_paused_and_taken_up_goes_on_at_the_first_unit_left(everybody: Cast, drawing: Hands) -> None:
    for _unit in range(5):
        drawing.do_unit()
    run.pause(code=drawing.code, person=drawing.technician, key=key(), reason="called away")
    run.resume(code=drawing.code, person=everybody["second technician"], key=key())
    other = replace(drawing, technician=everybody["second technician"]).to("draw_units")
    assert items_left(other.step, other.worksheet)[0].number == 6
    other.to("show")
    assert list(drawing.preparation.readings.values_list("attempt", flat=True)) == [1] * 12


def test_each_units_time_is_its_own(everybody: Cast) -> None:
    start = timezone.now() + timedelta(minutes=1)
    with time_machine.travel(start, tick=False) as clock:
        work = beside(everybody, stock_batch()).to("draw_units")
        for seconds in (10, 20, 30, *[5] * 9):
            clock.shift(seconds)
            work.do_unit()
    time = next(one for one in timings.step_times(work.preparation) if one.kind == "draw_units")
    assert [span.total_seconds() for span in time.per_unit] == [10, 20, 30, *[5] * 9]
    assert sum(time.per_unit, timedelta(0)) == time.worked


CHANGES = {
    "its unit": {"unit": 9},
    "its time": {"at": timezone.now()},
    "its facts": {"facts": {"draw": 2, "attempt": 2}},
}


@pytest.mark.usefixtures("unguarded")
@pytest.mark.parametrize("what", CHANGES)
def test_a_changed_stamp_is_found_and_named(everybody: Cast, drawing: Hands, what: str) -> None:
    for _unit in range(3):
        drawing.do_unit()
    stamp = Stamp.objects.filter(step=drawing.step).get(unit=2)
    Stamp.objects.filter(pk=stamp.pk).update(**CHANGES[what])
    fault = first_fault(drawing.preparation)
    assert (fault.number, fault.what) == (stamp.entry.number, "the stamp it made was changed")


@pytest.mark.usefixtures("unguarded")
def test_a_stamp_by_another_person_is_found(everybody: Cast, drawing: Hands) -> None:
    drawing.do_unit()
    Stamp.objects.filter(step=drawing.step).update(person=everybody["supervisor"])
    assert first_fault(drawing.preparation).what == "the stamp it made was changed"


@pytest.mark.usefixtures("unguarded")
def test_a_stamp_taken_away_is_found(everybody: Cast, drawing: Hands) -> None:
    drawing.do_unit()
    stamp = Stamp.objects.get(step=drawing.step)
    number = stamp.entry.number
    stamp.delete()
    fault = first_fault(drawing.preparation)
    assert (fault.number, fault.what) == (number, "the stamp it made is missing")


def test_a_stamp_put_in_is_found(everybody: Cast, drawing: Hands) -> None:
    opened = drawing.preparation.entries.first()
    Stamp.objects.create(
        step=drawing.step, unit=1, person=drawing.technician, at=timezone.now(), entry=opened
    )
    fault = first_fault(drawing.preparation)
    assert (fault.number, fault.what) == (1, "a stamp stands beside it that it did not make")
