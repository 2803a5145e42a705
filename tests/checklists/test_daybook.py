"""What days came to: counted once, kept, and the same as counted from the record itself."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from cast import Cast, Hands, order
from checklists import daybook, run, timings
from checklists.daybook import DAY, By, What
from checklists.measures.tallies import MIDDLES, tally
from checklists.models import DayTally, Person
from tests.checklists.walks import beside


@pytest.fixture(scope="module")
def walks(house: Cast) -> list[Hands]:
    """Two preparations released two days ago, and one yesterday; reading the worksheet took a minute."""
    begun, works = timezone.now() - 2 * DAY, []
    with time_machine.travel(begun, tick=False) as clock:
        for days in (0, 0, 1):
            clock.shift(days * 86_400)
            work = beside(house, order("ketorolac-syringe", "30 mg"))
            clock.shift(60)
            work.to_release()
            works.append(work)
    Person.objects.update(team="day team")
    return works


@pytest.fixture
def past(walks: list[Hands], everybody: Cast) -> list[Hands]:
    """The same; what a test does is undone after it."""
    return walks


def all_times(first, after) -> dict[By, object]:
    return {by: daybook.written(daybook.period(by, first, after)) for by in By}


def test_a_period_says_the_same_before_and_after_its_days_are_kept(past: list[Hands]) -> None:
    today = timezone.localdate()
    counted = all_times(today - 5 * DAY, today + DAY)
    assert run.keep_days() == 2
    assert all_times(today - 5 * DAY, today + DAY) == counted
    assert DayTally.objects.count() == 2 * len(By)


def test_a_day_is_kept_once_and_today_never(past: list[Hands]) -> None:
    run.keep_days()
    assert run.keep_days() == 0
    assert not DayTally.objects.filter(day=timezone.localdate()).exists()


def test_the_times_are_those_of_the_steps(past: list[Hands]) -> None:
    first = timezone.localdate() - 3 * DAY
    read = daybook.period(By.KIND, first, first + 5 * DAY)["read_worksheet"][What.WORKED]
    assert read.total == 3 * 60_000
    assert read.steps == tally([60_000] * 3)
    assert read.spread.median == pytest.approx(60_000, rel=0.02)


def test_a_preparation_counts_with_the_sums_of_its_steps(past: list[Hands]) -> None:
    today = timezone.localdate()
    by_team = daybook.period(By.TEAM, today - 5 * DAY, today + DAY)["day team"]
    wanted = timedelta(0)
    for work in past:
        wanted += timings.total(work.preparation, timings.step_times(work.preparation), timezone.now()).worked
    assert by_team[What.WORKED].total == wanted // timedelta(milliseconds=1)
    assert sum(by_team[What.WHOLE].steps.values()) == 3
    assert set(daybook.period(By.CONTAINER, today - 5 * DAY, today)) == {"syringe"}
    assert set(daybook.period(By.HOOD, today - 5 * DAY, today)) == {one.cast.hood.name for one in past}


def test_what_was_discarded_has_no_typical_time(everybody: Cast, past: list[Hands]) -> None:
    work = beside(everybody, order("ketorolac-syringe", "30 mg"))
    run.abandon(code=work.code, person=work.technician, key="x", reason="spilled all of it")
    today = timezone.localdate()
    released = daybook.period(By.PERSON, today, today + DAY)
    assert released == {}


def test_what_takes_no_time_is_counted_as_nothing() -> None:
    times = daybook.Times()
    times.count(0)
    assert times.spread.median == MIDDLES[0] == 0
    assert daybook.in_ms(timedelta(seconds=-3)) == 0


def test_rows_of_days_without_a_gap_are_counted_together() -> None:
    day = timezone.localdate()
    days = [day, day + DAY, day + 4 * DAY]
    assert list(daybook._runs_of(days)) == [(day, day + 2 * DAY), (day + 4 * DAY, day + 5 * DAY)]
    assert list(daybook._runs_of([])) == []
