"""Acts about who and what is fit to work: results of people recorded, duties done."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date
from decimal import Decimal, InvalidOperation

from django.db import transaction
from django.utils import timezone

from checklists.fitness import in_the_way, is_within, limits, months_later
from checklists.models import Duty, DutyDone, Person, Qualification, QualificationKind
from checklists.refusals.fitness import (
    NoSuchDay,
    NotANumberRead,
    NothingTicked,
    NotQualified,
    NotQualifying,
    OutsideLimits,
)
from checklists.run.typed import SHORT_REASON, reason_typed

LONGEST_NUMBER = 8


def refuse_unqualified(person: Person, on: date, *, hazardous: bool) -> None:
    """Refuse somebody whose qualification is missing, was not passed or has lapsed."""
    found = in_the_way(person, on, hazardous=hazardous)
    if found:
        why = "; ".join(f"{one.kind.name} {one.standing}" for one in found)
        raise NotQualified(name=person.name, why=why)


def qualify(
    *, person: Person | None, kind: QualificationKind | None, told: Mapping[str, str], by: Person, key: str
) -> None:
    """Record what somebody showed, once for its key: `on` which day, `passed` (yes, no), the `result`."""
    passed, result = told.get("passed", ""), told.get("result", "")
    if person is None or kind is None or kind.role != person.role or passed not in ("yes", "no"):
        raise NotQualifying()
    day, has_passed = _day(told.get("on", "")), passed == "yes"
    note = reason_typed(result, SHORT_REASON) if result.strip() or not has_passed else ""
    with transaction.atomic(durable=True):
        Qualification.objects.get_or_create(
            key=key,
            defaults={
                "person": person,
                "kind": kind,
                "on": day,
                "has_passed": has_passed,
                "until": months_later(day, kind.months) if has_passed else None,
                "result": note,
                "recorded_by": by,
                "at": timezone.now(),
            },
        )


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise NoSuchDay(typed=text.strip()[:40]) from None
    if not date(2000, 1, 1) <= day <= timezone.localdate():
        raise NoSuchDay(typed=text.strip()[:40])
    return day


def do_duty(*, duty: Duty, ticked: Collection[str], value: str, note: str, person: Person, key: str) -> None:
    """Keep that a duty was done, once for its key. What was left out or is not right needs a note."""
    number = _number(duty, value)
    missing = [line for line in duty.lines if line not in ticked]
    outside = number is not None and not is_within(duty, number)
    if not note.strip() and missing:
        raise NothingTicked(missing="; ".join(missing))
    if not note.strip() and outside:
        raise OutsideLimits(typed=f"{number:f} {duty.unit}", limits=limits(duty))
    with transaction.atomic(durable=True):
        DutyDone.objects.get_or_create(
            key=key,
            defaults={
                "duty": duty,
                "ticked": [line for line in duty.lines if line in ticked],
                "value": number,
                "is_right": not missing and not outside,
                "note": reason_typed(note, SHORT_REASON) if note.strip() else "",
                "person": person,
                "at": timezone.now(),
            },
        )


def _number(duty: Duty, text: str) -> Decimal | None:
    """Read a bare number strictly: digits, a minus, a point; a comma or a unit is not guessed at."""
    if not duty.unit:
        return None
    plain = text.strip().replace("−", "-")
    shape = plain.removeprefix("-")
    is_number = shape.replace(".", "", 1).isdecimal() and shape.isascii() and shape[:1] != "." != shape[-1:]
    if not is_number or len(plain) > LONGEST_NUMBER:
        raise NotANumberRead(typed=text.strip()[:40], unit=duty.unit)
    try:
        return Decimal(plain).quantize(Decimal("0.01"))
    except InvalidOperation:
        raise NotANumberRead(typed=text.strip()[:40], unit=duty.unit) from None
