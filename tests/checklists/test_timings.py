"""How long each step took: working, waiting for a checker, and checking, each apart. Reckoned by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from cast import Cast, Hands, key, order
from checklists import run, timings
from tests.checklists.walks import beside


def seconds(count: int) -> timedelta:
    return timedelta(seconds=count)


@pytest.fixture
def timed(everybody: Cast) -> Hands:
    """Opened at 0 s; read in 60 s; gathered; 300 s until the check is taken, 90 s until it is done."""
    start = timezone.now() + timedelta(minutes=1)
    with time_machine.travel(start, tick=False) as clock:
        work = beside(everybody, order("ketorolac-syringe", "30 mg"))
        clock.shift(60)
        work.to("first_check")
        clock.shift(300)
        checker = everybody["pharmacist"]
        run.take_check(code=work.code, person=checker, key=key(), place=work.step.place)
        clock.shift(90)
        work.do()
        clock.shift(45)
        work.do()
    return work


def of_kind(work: Hands, kind: str) -> timings.StepTime:
    return next(time for time in timings.step_times(work.preparation) if time.kind == kind)


def test_a_makers_step_counts_as_work(timed: Hands) -> None:
    time = of_kind(timed, "read_worksheet")
    assert (time.worked, time.waited, time.checked) == (seconds(60), seconds(0), seconds(0))
    assert (time.number, time.stage, time.by) == (1, "reckon", timed.technician.name)


def test_a_check_is_waited_for_until_it_is_taken_and_then_checked(timed: Hands) -> None:
    time = of_kind(timed, "first_check")
    assert (time.worked, time.waited, time.checked) == (seconds(0), seconds(300), seconds(90))
    assert time.by == "Ilse Varga"


def test_a_check_that_nobody_took_counts_as_waiting_to_its_end(everybody: Cast, walked: Hands) -> None:
    time = next(one for one in timings.step_times(walked.preparation) if one.kind == "final_check")
    assert time.checked == seconds(0)
    assert time.waited == time.finished_at - time.started_at


def test_only_finished_steps_are_counted(timed: Hands) -> None:
    times = timings.step_times(timed.preparation)
    assert [time.kind for time in times] == [
        "read_worksheet", "gather_container", "gather_supplies", "print_label", "first_check", "wipe_items",
    ]  # fmt: skip


def test_the_sums_are_those_of_the_steps(timed: Hands) -> None:
    preparation = timed.preparation
    now = preparation.opened_at + seconds(600)
    total = timings.total(preparation, timings.step_times(preparation), now)
    assert total.wall == seconds(600)
    assert total.worked == seconds(60 + 45)
    assert total.waited == seconds(300)
    assert total.checked == seconds(90)
    assert total.held == seconds(0)


def test_a_hold_counts_until_it_is_resolved(everybody: Cast, shown: Hands) -> None:
    with time_machine.travel(timezone.now(), tick=False) as clock:
        run.raise_hold(code=shown.code, person=shown.technician, key=key(), note="a drop")
        clock.shift(120)
        preparation = shown.preparation
        times = timings.step_times(preparation)
        assert timings.total(preparation, times, timezone.now()).held == seconds(120)
        shown.resolve("carry-on")
        clock.shift(500)
        assert timings.total(preparation, times, timezone.now()).held == seconds(120)


def test_the_wall_time_ends_with_the_work(everybody: Cast, walked: Hands) -> None:
    walked.release()
    preparation = walked.preparation
    later = preparation.ended_at + timedelta(days=3)
    total = timings.total(preparation, timings.step_times(preparation), later)
    assert total.wall == preparation.ended_at - preparation.opened_at
    assert total.worked + total.waited + total.checked == total.wall


def test_a_dwell_ended_early_shows_its_reason(everybody: Cast, walked: Hands) -> None:
    time = next(one for one in timings.step_times(walked.preparation) if one.kind == "wipe_items")
    assert time.reason == "the test does not wait"


def test_a_check_taken_over_counts_from_the_first_who_took_it(everybody: Cast, at_first_check: Hands) -> None:
    work, place = at_first_check, at_first_check.step.place
    start = work.step.started_at + timedelta(minutes=1)
    with time_machine.travel(start, tick=False) as clock:
        for who in ("pharmacist", "third pharmacist"):
            run.take_check(code=work.code, person=everybody[who], key=key(), place=place)
            clock.shift(30)
        work.do()
    time = of_kind(work, "first_check")
    assert time.checked == seconds(60)
    assert work.preparation.steps.get(place=place).taken_by == everybody["third pharmacist"]
