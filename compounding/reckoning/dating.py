"""Beyond-use date: every limit that applies to a preparation, and the one that binds.

The date is the last moment at which giving it must begin. It is the earliest of the table limit, the
drug's stability, the formulation's own limit and the end of each component. The clock starts when
preparation starts; a day is 24 hours. In-use clocks of opened containers never set it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from decimal import Decimal

from compounding.reckoning.quantities import write_number
from compounding.reckoning.refusals import BadOrder, OutOfRange
from compounding.reckoning.use_limits import STORAGES, UseLimit, limits_for
from compounding.reckoning.worksheet import DateLimit, Line

MICROSECONDS_IN_AN_HOUR = Decimal(3_600_000_000)
TEN_YEARS = Decimal(87_600)


@dataclass(frozen=True)
class DatingFacts:
    """What decides a beyond-use date.

    `category` 1, 2 or 3; `method` "aseptic" or "terminal"; `only_sterile`: every starting part was sterile;
    `storage` "room" (20 to 25 °C), "fridge" (2 to 8 °C) or "freezer" (-25 to -10 °C). `stability_hours` is
    the drug's at this strength in this diluent. `component_ends`: name and end of each component, aware.
    """

    category: int
    method: str
    sterility_tested: bool
    only_sterile: bool
    storage: str
    stability_hours: Decimal | None
    stability_source: str
    own_limit_hours: Decimal | None
    component_ends: tuple[tuple[str, datetime], ...]


class SterilityTestRequired(BadOrder):
    """Category 3 without a passed sterility test."""

    wording = "Category 3 needs a passed sterility test. Test it, or make it as Category 2."


class StorageNotAllowed(BadOrder):
    """The table has no limit for this storage. Facts: category, storage, allowed."""

    wording = "Category {category} may not be kept in the {storage}. Choose {allowed}."


class StabilityWithoutSource(BadOrder):
    """A stability figure that nobody can look up. Facts: hours."""

    wording = "Stability of {hours} h is given without a source. Write where the figure is from."


class ComponentEnded(BadOrder):
    """A component is out of date when preparation starts. Facts: component, ended, started."""

    wording = "{component} ended {ended}, before preparation starts {started}. Take one that is in date."


def beyond_use(facts: DatingFacts, started_at: datetime) -> tuple[DateLimit, ...]:
    """Return every candidate for the beyond-use date, exactly one of them binding: the earliest.

    `started_at` is aware; ends are ISO 8601 in UTC, rounded down to the minute. Between equal ends the
    first listed binds: table, stability, own limit, components. Refuses `OutOfRange`,
    `SterilityTestRequired`, `StorageNotAllowed`, `StabilityWithoutSource`, `ComponentEnded`.
    Rule: USP <797> 2023, section 14 (page and memory).
    """
    started = in_utc(started_at)
    found = [_table_limit(facts, started), *_hour_limits(facts, started), *_component_limits(facts, started)]
    earliest = min(range(len(found)), key=lambda place: found[place][2])
    return tuple(
        DateLimit(what, source, ends.isoformat(timespec="minutes"), binding=place == earliest)
        for place, (what, source, ends) in enumerate(found)
    )


def binding(limits: tuple[DateLimit, ...]) -> DateLimit:
    """Return the limit that sets the beyond-use date."""
    return next(limit for limit in limits if limit.binding)


def working(limits: tuple[DateLimit, ...], started_at: datetime, zone: tzinfo = UTC) -> tuple[Line, ...]:
    """Return the lines a pharmacist would write: start, each limit, the earliest; times in `zone`."""
    lines = [f"Preparation starts {_clock(in_utc(started_at), zone)}"]
    lines += [f"{limit.what}: {_clock(_end(limit), zone)} ({limit.source})" for limit in limits]
    set_by = binding(limits)
    lines.append(f"Earliest: {_clock(_end(set_by), zone)}, set by {set_by.what}")
    return tuple(Line("beyond-use date", line) for line in lines)


def end_of(day: date, zone: tzinfo) -> datetime:
    """Return the end of a date without a time: 23:59 of that date in `zone`, in UTC.

    Source: the example of COMAR 10.34.19.06 B(11) (page).
    """
    return datetime.combine(day, time(23, 59), tzinfo=zone).astimezone(UTC)


def in_utc(moment: datetime) -> datetime:
    """Return the moment in UTC; a moment without a zone is a fault of the program, not of a person."""
    if moment.tzinfo is None:
        raise ValueError(f"{moment} has no time zone")
    return moment.astimezone(UTC)


Candidate = tuple[str, str, datetime]


def _table_limit(facts: DatingFacts, started: datetime) -> Candidate:
    _check_words(facts)
    row = _row(facts)
    hours = row.hours(facts.storage)
    if hours is None:
        allowed = " or ".join(STORAGES[place] for place in STORAGES if row.hours(place) is not None)
        raise StorageNotAllowed(
            category=str(facts.category), storage=STORAGES[facts.storage], allowed=allowed
        )
    what = f"Table limit {row.name}, {STORAGES[facts.storage]}: {_duration(hours)}"
    return what, row.source, _after(started, Decimal(hours))


def _check_words(facts: DatingFacts) -> None:
    asked = (
        ("The category", str(facts.category), ("1", "2", "3")),
        ("The method", facts.method, ("aseptic", "terminal")),
        ("The storage", facts.storage, tuple(STORAGES)),
    )
    for what, given, known in asked:
        if given not in known:
            raise OutOfRange(what=what, given=f"“{given}”", range=" or ".join(known))


def _row(facts: DatingFacts) -> UseLimit:
    row = limits_for(facts.category, facts.method, facts.sterility_tested, facts.only_sterile)
    if row is None:
        raise SterilityTestRequired()
    return row


def _hour_limits(facts: DatingFacts, started: datetime) -> list[Candidate]:
    found: list[Candidate] = []
    if facts.stability_hours is not None:
        hours = _positive("Stability", facts.stability_hours)
        if not facts.stability_source.strip():
            raise StabilityWithoutSource(hours=write_number(hours))
        found.append((f"Stability: {_duration(hours)}", facts.stability_source, _after(started, hours)))
    if facts.own_limit_hours is not None:
        hours = _positive("The formulation's own limit", facts.own_limit_hours)
        found.append((f"Formulation's own limit: {_duration(hours)}", "formulation", _after(started, hours)))
    return found


def _positive(what: str, hours: Decimal) -> Decimal:
    if not 0 < hours <= TEN_YEARS:
        given, most = f"{write_number(hours)} h", f"{write_number(TEN_YEARS)} h"
        raise OutOfRange(what=what, given=given, range=f"more than 0 h and at most {most}, or leave it empty")
    return hours


def _component_limits(facts: DatingFacts, started: datetime) -> list[Candidate]:
    found: list[Candidate] = []
    for name, moment in facts.component_ends:
        ends = _whole_minute(in_utc(moment))
        if ends <= started:
            raise ComponentEnded(component=name, ended=_clock(ends, UTC), started=_clock(started, UTC))
        found.append((f"End of {name}", "component's own label", ends))
    return found


def _after(started: datetime, hours: Decimal) -> datetime:
    return _whole_minute(started + timedelta(microseconds=int(hours * MICROSECONDS_IN_AN_HOUR)))


def _whole_minute(moment: datetime) -> datetime:
    return moment.replace(second=0, microsecond=0)


def _end(limit: DateLimit) -> datetime:
    return datetime.fromisoformat(limit.ends_at)


def _clock(moment: datetime, zone: tzinfo) -> str:
    return moment.astimezone(zone).strftime("%Y-%m-%d %H:%M %Z").strip()


def _duration(hours: Decimal | int) -> str:
    days, rest = divmod(Decimal(hours), 24)
    return f"{write_number(days)} d" if rest == 0 and days > 1 else f"{write_number(Decimal(hours))} h"
