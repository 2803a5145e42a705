"""Fit to work: what is due of people, hoods and rooms, and the log of each duty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import OuterRef, Subquery
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.fitness import Held, Standing, held, limits, standing_of
from checklists.models import Duty, DutyDone, Hood, Person, QualificationKind
from checklists.worklists.charts import ValueDrawing, value_drawing

SHOWN_LOG = 60
LONGEST_NUMBER = 10


@dataclass(frozen=True)
class DueRow:
    """One thing that is to be renewed or done: what, whose, by when, and where it is recorded."""

    what: str
    whose: str
    due: datetime
    standing: Standing
    address: str
    is_day: bool = True


@dataclass(frozen=True)
class DutyRow:
    """A duty with how it stands."""

    pk: int
    name: str
    kind: str
    hood: str
    every: str
    last_at: datetime | None
    last_by: str
    last_value: str
    is_right: bool
    due_at: datetime | None
    is_due: bool


@dataclass(frozen=True)
class FitScreen:
    """What is due, by when; every duty; every hood."""

    overdue: tuple[DueRow, ...]
    soon: tuple[DueRow, ...]
    later: tuple[DueRow, ...]
    duties: tuple[DutyRow, ...]
    hoods: tuple[Hood, ...]
    today: date


@dataclass(frozen=True)
class LogLine:
    """A duty done once."""

    at: datetime
    by: str
    value: str
    left_out: tuple[str, ...]
    is_right: bool
    note: str


@dataclass(frozen=True)
class DutyScreen:
    """One duty: what is asked, what was done, and its numbers drawn within their limits."""

    row: DutyRow
    lines: tuple[str, ...]
    ticked: tuple[str, ...]
    unit: str
    limits: str
    typed: str
    note: str
    log: tuple[LogLine, ...]
    drawing: ValueDrawing | None
    sentence: str
    source: str
    key: str
    refusal: str


@dataclass(frozen=True)
class PeopleFitScreen:
    """Everybody's qualifications, a line a person, and the form that records one."""

    kinds: tuple[QualificationKind, ...]
    rows: tuple[tuple[Person, tuple[Held | None, ...]], ...]
    today: date
    key: str
    refusal: str
    typed: dict[str, str]


def fit_screen() -> FitScreen:
    """Return what is due."""
    now, today = timezone.now(), timezone.localdate()
    duties = tuple(duty_rows(now))
    rows = sorted([*_of_people(today), *_of_hoods(today), *_of_duties(duties, now)], key=lambda row: row.due)
    fit = [row for row in rows if row.standing is Standing.STANDS]
    return FitScreen(
        overdue=tuple(row for row in rows if not row.standing.is_fit),
        soon=tuple(row for row in rows if row.standing is Standing.SOON),
        later=tuple(fit),
        duties=duties,
        hoods=tuple(Hood.objects.order_by("name")),
        today=today,
    )


def _moment(day: date) -> datetime:
    return datetime.combine(day, datetime.min.time(), timezone.get_current_timezone())


def _of_people(today: date) -> Iterator[DueRow]:
    people = Person.objects.filter(is_active=True).order_by("name")
    for one in held(people, today):
        due = one.until or (one.latest.on if one.latest else today)
        yield DueRow(one.kind.name, one.person.name, _moment(due), one.standing, reverse("fit_people"))


def _of_hoods(today: date) -> Iterator[DueRow]:
    for hood in Hood.objects.order_by("name"):
        until = hood.certified_until
        yield DueRow(_("Certificate"), hood.name, _moment(until), standing_of(until, today), reverse("hoods"))


def _of_duties(duties: tuple[DutyRow, ...], now: datetime) -> Iterator[DueRow]:
    for row in duties:
        due = row.due_at or now
        is_soon = due <= now + timedelta(hours=24)
        standing = Standing.LAPSED if row.is_due else Standing.SOON if is_soon else Standing.STANDS
        address = reverse("duty", args=[row.pk])
        yield DueRow(row.name, row.hood or row.kind, due, standing, address, is_day=False)


def duty_rows(now: datetime) -> Iterator[DutyRow]:
    """Yield every duty that is still one, with when it was done last."""
    last = DutyDone.objects.filter(duty=OuterRef("pk")).order_by("-at")
    duties = Duty.objects.filter(is_active=True).select_related("hood")
    duties = duties.annotate(last=Subquery(last.values("pk")[:1])).order_by("kind", "name")
    latest = DutyDone.objects.filter(pk__in=[duty.last for duty in duties if duty.last])
    done = {one.pk: one for one in latest.select_related("person")}
    for duty in duties:
        yield _row(duty, done.get(duty.last), now)


def _row(duty: Duty, last: DutyDone | None, now: datetime) -> DutyRow:
    due = last.at + timedelta(hours=duty.every_hours) if last else None
    return DutyRow(
        pk=duty.pk,
        name=duty.name,
        kind=duty.get_kind_display(),
        hood=duty.hood.name if duty.hood else "",
        every=_every(duty.every_hours),
        last_at=last.at if last else None,
        last_by=last.person.name if last else "",
        last_value=_value(last.value, duty.unit) if last else "",
        is_right=last.is_right if last else True,
        due_at=due,
        is_due=due is None or due <= now,
    )


def _every(hours: int) -> str:
    if hours % 24:
        return _("every %(hours)d h") % {"hours": hours}
    days = hours // 24
    return _("daily") if days == 1 else _("every %(days)d days") % {"days": days}


def _value(value: Decimal | None, unit: str) -> str:
    return "" if value is None else f"{value.normalize():f} {unit}".replace("-", "−")


def find_duty(number: int) -> Duty | None:
    """Return a duty by its number."""
    return Duty.objects.filter(pk=number, is_active=True).select_related("hood").first()


def duty_screen(
    duty: Duty, key: str, refusal: str = "", sent: dict[str, list[str]] | None = None
) -> DutyScreen:
    """Return one duty with its log; what was sent stays on it after a refusal."""
    log, given = list(duty.done.select_related("person").order_by("-at")[:SHOWN_LOG]), sent or {}
    values = [(one.at, one.value) for one in reversed(log) if one.value is not None]
    return DutyScreen(
        row=_row(duty, log[0] if log else None, timezone.now()),
        lines=duty.lines,
        ticked=tuple(given.get("ticked", [])),
        unit=duty.unit,
        limits=limits(duty),
        typed="".join(given.get("value", [])[:1])[:40],
        note="".join(given.get("note", [])[:1])[:300],
        log=tuple(_line(duty, one) for one in log),
        drawing=value_drawing(values, duty.least, duty.most, duty.unit) if len(values) > 1 else None,
        sentence=_sentence(duty, log),
        source=duty.source,
        key=key,
        refusal=refusal,
    )


def _line(duty: Duty, one: DutyDone) -> LogLine:
    return LogLine(
        at=one.at,
        by=one.person.name,
        value=_value(one.value, duty.unit),
        left_out=tuple(line for line in duty.lines if line not in one.ticked),
        is_right=one.is_right,
        note=one.note,
    )


def _sentence(duty: Duty, log: list[DutyDone]) -> str:
    wrong = sum(not one.is_right for one in log)
    if not log:
        return _("It was not done yet.")
    if not wrong:
        return _("All right the last %(count)d times.") % {"count": len(log)}
    return _("Not all right %(wrong)d of the last %(count)d times.") % {"wrong": wrong, "count": len(log)}


def duty_sheet(duty: Duty) -> Iterator[tuple[str, ...]]:
    """Yield the whole log of a duty, for whoever inspects."""
    yield "at", "by", "value", "unit", "all_right", "not_done", "note"
    for one in duty.done.select_related("person").order_by("at").iterator():
        line = _line(duty, one)
        value = f"{one.value.normalize():f}" if one.value is not None else ""
        right = "yes" if one.is_right else "no"
        note = f"'{one.note}" if one.note[:1] in ("=", "+", "-", "@", "\t") else one.note
        yield one.at.isoformat(), line.by, value, duty.unit, right, "; ".join(line.left_out), note


def people_screen(key: str, refusal: str = "", typed: dict[str, str] | None = None) -> PeopleFitScreen:
    """Return everybody's qualifications."""
    today = timezone.localdate()
    people = list(Person.objects.filter(is_active=True).order_by("role", "name"))
    kinds = tuple(QualificationKind.objects.order_by("role", "name"))
    found = {(one.person.pk, one.kind.pk): one for one in held(people, today)}
    asked = {kind.role for kind in kinds}
    return PeopleFitScreen(
        kinds=kinds,
        rows=tuple(
            (person, tuple(found.get((person.pk, kind.pk)) for kind in kinds))
            for person in people
            if person.role in asked
        ),
        today=today,
        key=key,
        refusal=refusal,
        typed=typed or {},
    )


def own(person: Person) -> tuple[Held, ...]:
    """Return a person's own qualifications."""
    return held([person], timezone.localdate())


def find_kind(number: str) -> QualificationKind | None:
    """Return a kind of qualification by its number."""
    return QualificationKind.objects.filter(pk=number).first() if _is_number(number) else None


def find_person(number: str) -> Person | None:
    """Return somebody who works here by their number."""
    return Person.objects.filter(pk=number, is_active=True).first() if _is_number(number) else None


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < LONGEST_NUMBER
