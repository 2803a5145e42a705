"""Times of many preparations, divided by what they may depend on; a past day is counted once and kept.

A preparation counts on the day of its release, with all of its steps; a kind of step, and the hour in which
a check was asked for, on the day on which the step was finished. What was discarded has no typical time.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any

from django.utils import timezone

from checklists.measures.spread import Spread
from checklists.measures.tallies import spread_of, step_of
from checklists.method.step_kinds import KINDS, Actor
from checklists.models import DayTally, Hold, Preparation, Step

DAY = timedelta(days=1)


class By(StrEnum):
    """What times may be divided by."""

    KIND = "kind"
    FORMULATION = "formulation"
    HOOD = "hood"
    CONTAINER = "container"
    HOUR = "hour"
    ASKED = "asked"
    TEAM = "team"
    PERSON = "person"


class What(StrEnum):
    """What is timed. `HELD` lies within the others; `WHOLE` is from opening to release."""

    WORKED = "worked"
    WAITED = "waited"
    CHECKED = "checked"
    HELD = "held"
    WHOLE = "whole"


@dataclass
class Times:
    """How long something took, many times: the sum in milliseconds, and a tally for the spread."""

    total: int = 0
    steps: Counter[int] = field(default_factory=Counter)

    def count(self, milliseconds: int) -> None:
        """Count one more."""
        self.total += milliseconds
        self.steps[step_of(milliseconds)] += 1

    def add(self, total: int, steps: dict[str, int]) -> None:
        """Add what a day was kept with."""
        self.total += total
        for step, count in steps.items():
            self.steps[int(step)] += count

    @property
    def spread(self) -> Spread | None:
        """Return count, median and spread, in milliseconds."""
        return spread_of(self.steps)


#: `{name: {what: times}}`, of one way of dividing.
Divided = dict[str, dict[str, Times]]


def divided() -> Divided:
    """Return a place to count into."""
    return defaultdict(lambda: defaultdict(Times))


def bounds(first: date, after: date) -> tuple[datetime, datetime]:
    """Return when the local day `first` begins, and when `after` does."""
    zone = timezone.get_current_timezone()
    begins, ends = (datetime.combine(day, datetime.min.time(), zone) for day in (first, after))
    return begins, ends


def period(by: By, first: date, after: date) -> Divided:
    """Return the times from the day `first` up to, without, the day `after`; a day not kept is counted."""
    whole, kept = divided(), set()
    rows = DayTally.objects.filter(by=by, day__gte=first, day__lt=after).values_list("day", "times")
    for day, times in rows.iterator():
        kept.add(day)
        for name, row in times.items():
            for what, (total, steps) in row.items():
                whole[name][what].add(total, steps)
    for begins, ends in _runs_of([day for day in _days(first, after) if day not in kept]):
        for name, row in count([by], begins, ends)[by].items():
            for what, times in row.items():
                whole[name][what].total += times.total
                whole[name][what].steps.update(times.steps)
    return whole


def means(by: By, first: date, after: date) -> dict[str, dict[str, timedelta]]:
    """Return the mean times of past days that are kept: sums and counts are enough for them."""
    sums: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    rows = DayTally.objects.filter(by=by, day__gte=first, day__lt=after).values_list("times", flat=True)
    for times in rows:
        for name, row in times.items():
            for what, (total, steps) in row.items():
                both = sums[name, what]
                both[0] += total
                both[1] += sum(steps.values())
    found: dict[str, dict[str, timedelta]] = defaultdict(dict)
    for (name, what), (total, count) in sums.items():
        found[name][what] = timedelta(milliseconds=total / count)
    return found


def _days(first: date, after: date) -> Iterator[date]:
    while first < after:
        yield first
        first += DAY


def _runs_of(days: list[date]) -> Iterator[tuple[date, date]]:
    """Yield each row of days without a gap, as its first day and the day after it."""
    start = last = None
    for day in days:
        if last is None or day != last + DAY:
            if start is not None and last is not None:
                yield start, last + DAY
            start = day
        last = day
    if start is not None and last is not None:
        yield start, last + DAY


def count(ways: Collection[By], first: date, after: date) -> dict[By, Divided]:
    """Return the times of those days, counted from the record itself, divided in each of these ways."""
    since, until = bounds(first, after)
    counted = {by: divided() for by in ways}
    if By.KIND in counted:
        _kinds(since, until, counted[By.KIND])
    if By.ASKED in counted:
        _asked(since, until, counted[By.ASKED])
    by_preparation = [by for by in ways if by in NAMED_BY]
    if by_preparation:
        _preparations(since, until, {by: counted[by] for by in by_preparation})
    return counted


def _finished(since: datetime, until: datetime, **only: Any) -> Iterator[tuple[Any, ...]]:
    steps = Step.objects.filter(
        finished_at__gte=since, finished_at__lt=until, started_at__isnull=False, **only
    )
    return steps.order_by().values_list("kind", "started_at", "taken_at", "finished_at").iterator(5000)


def _kinds(since: datetime, until: datetime, into: Divided) -> None:
    for kind, started, taken, finished in _finished(since, until):
        for what, milliseconds in parts(kind, started, taken, finished):
            into[kind][what].count(milliseconds)


def _asked(since: datetime, until: datetime, into: Divided) -> None:
    checks = [name for name, kind in KINDS.items() if kind.actor is Actor.CHECKER]
    for _kind, started, taken, finished in _finished(since, until, kind__in=checks):
        hour = f"{timezone.localtime(started):%H}"
        into[hour][What.WAITED].count(in_ms((taken or finished) - started))


def parts(
    kind: str, started: datetime, taken: datetime | None, finished: datetime
) -> tuple[tuple[What, int], ...]:
    """Return a step's time in milliseconds: worked, or waited for and then checked."""
    if KINDS[kind].actor is Actor.MAKER:
        return ((What.WORKED, in_ms(finished - started)),)
    begun = taken or finished
    return (What.WAITED, in_ms(begun - started)), (What.CHECKED, in_ms(finished - begun))


def in_ms(length: timedelta) -> int:
    """Return a length in whole milliseconds, never below none."""
    return max(length // timedelta(milliseconds=1), 0)


NAMED_BY: dict[By, str] = {
    By.FORMULATION: "order__formulation__code",
    By.HOOD: "made_in__name",
    By.CONTAINER: "order__formulation__final_container",
    By.HOUR: "opened_at",
    By.TEAM: "technician__team",
    By.PERSON: "technician__name",
}


def _preparations(since: datetime, until: datetime, into: dict[By, Divided]) -> None:
    """Count each released preparation's times under each name it goes by."""
    released = Preparation.objects.filter(
        state=Preparation.State.RELEASED, ended_at__gte=since, ended_at__lt=until
    ).order_by()
    lengths = times_of(released.values("pk"))
    rows: Iterable[Any] = released.values_list("pk", *(NAMED_BY[by] for by in into))
    for pk, *names in rows:
        times = lengths[pk]
        for by, name in zip(into, names, strict=True):
            called = f"{timezone.localtime(name):%H}" if by is By.HOUR else name or ""
            for what, milliseconds in times.items():
                into[by][called][what].count(milliseconds)


def times_of(preparations: Any) -> dict[int, dict[str, int]]:
    """Return the times in milliseconds of preparations that have ended, by their keys."""
    ended = Preparation.objects.filter(pk__in=preparations).exclude(ended_at=None).order_by()
    rows: Iterable[Any] = ended.values_list("pk", "opened_at", "ended_at")
    sums, held = _sums(preparations), _held(preparations)
    return {
        pk: {**sums[pk], What.HELD: held[pk], What.WHOLE: in_ms(end - opened)} for pk, opened, end in rows
    }


def _sums(preparations: Any) -> dict[int, dict[str, int]]:
    """Return of each preparation the sums of its steps."""
    sums: dict[int, dict[str, int]] = defaultdict(lambda: dict.fromkeys(What, 0))
    steps = Step.objects.filter(preparation__in=preparations, finished_at__isnull=False)
    timed = steps.exclude(started_at=None).order_by()
    rows: Iterable[Any] = timed.values_list("preparation_id", "kind", "started_at", "taken_at", "finished_at")
    for pk, kind, started, taken, finished in rows:
        for what, milliseconds in parts(kind, started, taken, finished):
            sums[pk][what] += milliseconds
    return sums


def _held(preparations: Any) -> dict[int, int]:
    held: dict[int, int] = defaultdict(int)
    holds = Hold.objects.filter(preparation__in=preparations, resolved_at__isnull=False).order_by()
    rows: Iterable[Any] = holds.values_list("preparation_id", "opened_at", "resolved_at")
    for pk, opened, resolved in rows:
        held[pk] += in_ms(resolved - opened)
    return held


def written(counted: Divided) -> dict[str, dict[str, list[Any]]]:
    """Return counted times as a row keeps them."""
    return {
        name: {
            str(what): [times.total, {str(step): number for step, number in sorted(times.steps.items())}]
            for what, times in row.items()
        }
        for name, row in counted.items()
    }


def missing(today: date, most_days: int) -> tuple[date, ...]:
    """Return the past days, of the last so many, that no row is kept of; none before the first work."""
    first = Preparation.objects.order_by("opened_at").values_list("opened_at", flat=True).first()
    if first is None:
        return ()
    since = max(today - timedelta(days=most_days), timezone.localdate(first))
    kept = set(DayTally.objects.filter(by=By.KIND, day__gte=since).values_list("day", flat=True))
    return tuple(day for day in _days(since, today) if day not in kept)
