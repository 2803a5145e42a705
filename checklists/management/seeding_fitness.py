"""The demo's qualifications and duties, put into empty tables."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from checklists.fitness import months_later
from checklists.models import Duty, DutyDone, Hood, Person, Qualification, QualificationKind


def seed_fitness(scenario: dict[str, Any], now: datetime) -> None:
    """Put the scenario's kinds, results, duties and what was done of them into the tables."""
    kinds = {row["code"]: QualificationKind.objects.create(**row) for row in scenario["kinds"]}
    chief = Person.objects.filter(role=Person.Role.SUPERVISOR).first()
    if chief is None:
        return
    for number, row in enumerate(scenario["results"]):
        day = timezone.localdate(now) - timedelta(days=row["days_ago"])
        kind = kinds[row["kind"]]
        Qualification.objects.create(
            person=Person.objects.get(badge=row["badge"]),
            kind=kind,
            on=day,
            has_passed=True,
            until=months_later(day, kind.months),
            result=row["result"],
            recorded_by=chief,
            at=now,
            key=f"seeded {number}",
        )
    for row in scenario["duties"]:
        _seed_duty(row, chief, now)


def _seed_duty(row: dict[str, Any], by: Person, now: datetime) -> None:
    names = ("name", "kind", "every_hours", "unit", "least", "most")
    duty = Duty.objects.create(
        **{name: row[name] for name in names if name in row},
        tasks="\n".join(row.get("tasks", [])),
        hood=Hood.objects.filter(name=row.get("hood", "")).first(),
    )
    duty.refresh_from_db()
    values = row.get("values", [])
    for place, hours in enumerate(row["done_hours_ago"]):
        value = Decimal(values[place]) if values else None
        is_right = value is None or not (
            (duty.least is not None and value < duty.least) or (duty.most is not None and value > duty.most)
        )
        DutyDone.objects.create(
            duty=duty,
            ticked=list(duty.lines),
            value=value,
            is_right=is_right,
            note="" if is_right else row["note"],
            person=by,
            at=now - timedelta(hours=hours),
            key=f"seeded {duty.pk} {place}",
        )
