"""Who is fit to work at a hood today: every qualification asked of their role, and how it stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from checklists.models import Duty, Person, Qualification, QualificationKind

#: From how many days before its last day something is due soon (our own, no source).
SOON_DAYS = 30


class Standing(StrEnum):
    """How something that is to be renewed stands on a day."""

    STANDS = "stands"
    SOON = "due soon"
    LAPSED = "lapsed"
    FAILED = "not passed"
    MISSING = "missing"

    @property
    def is_fit(self) -> bool:
        """Say whether work may go on with it."""
        return self in (Standing.STANDS, Standing.SOON)


@dataclass(frozen=True)
class Held:
    """One kind of qualification of one person, and how it stands."""

    person: Person
    kind: QualificationKind
    latest: Qualification | None
    standing: Standing

    @property
    def until(self) -> date | None:
        """Return the last day on which it stands."""
        return self.latest.until if self.latest else None


def standing_of(until: date | None, on: date) -> Standing:
    """Return how something stands that holds up to and with the day `until`."""
    if until is None:
        return Standing.MISSING
    if until < on:
        return Standing.LAPSED
    return Standing.SOON if until <= on + timedelta(days=SOON_DAYS) else Standing.STANDS


def held(people: Iterable[Person], on: date) -> tuple[Held, ...]:
    """Return every kind asked of each person's role, with how it stands on a day."""
    people = list(people)
    kinds = list(QualificationKind.objects.all())
    latest = {
        (one.person_id, one.kind_id): one
        for one in Qualification.objects.filter(person__in=people).order_by("on", "pk")
    }
    return tuple(
        _held(person, kind, latest.get((person.pk, kind.pk)), on)
        for person in people
        for kind in kinds
        if kind.role == person.role
    )


def _held(person: Person, kind: QualificationKind, latest: Qualification | None, on: date) -> Held:
    if latest and not latest.has_passed:
        return Held(person, kind, latest, Standing.FAILED)
    return Held(person, kind, latest, standing_of(latest.until if latest else None, on))


def in_the_way(person: Person, on: date, *, hazardous: bool) -> tuple[Held, ...]:
    """Return what keeps the person from working at a hood that day."""
    return tuple(
        one
        for one in held([person], on)
        if one.kind.is_asked and not one.standing.is_fit and (hazardous or not one.kind.only_hazardous)
    )


def months_later(day: date, months: int) -> date:
    """Return the same day so many months later, or that month's last."""
    count = day.month - 1 + months
    year, month = day.year + count // 12, count % 12 + 1
    for number in (day.day, 30, 29, 28):
        try:
            return date(year, month, number)
        except ValueError:
            continue
    raise ValueError(f"{year}-{month:02} has no day")  # every month has 28


def is_within(duty: Duty, number: Decimal) -> bool:
    """Say whether a reading lies within its limits."""
    return (duty.least is None or number >= duty.least) and (duty.most is None or number <= duty.most)


def limits(duty: Duty) -> str:
    """Write the limits of a duty's number."""
    ends = [f"{one.normalize():f}" if one is not None else "" for one in (duty.least, duty.most)]
    if all(ends):
        return f"{ends[0]} to {ends[1]} {duty.unit}"
    if not any(ends):
        return ""
    return f"at least {ends[0]} {duty.unit}" if ends[0] else f"at most {ends[1]} {duty.unit}"
