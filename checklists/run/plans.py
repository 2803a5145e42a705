"""A run plan put up for the technicians' list, and let go. It suggests; nothing is refused because of it."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from checklists.models import Person, RunPlan
from checklists.refusals import NothingToPlan


def put_plan_up(*, rows: Sequence[tuple[str, str]], person: Person, key: str) -> None:
    """Put up this turn of orders, each with its note, in the place of any other. Refuses NothingToPlan."""
    if not rows:
        raise NothingToPlan()
    with transaction.atomic(durable=True):
        if RunPlan.objects.filter(key=key).exists():
            return
        _end_standing()
        plain = [{"number": number, "note": note} for number, note in rows]
        RunPlan.objects.create(rows=plain, key=key, put_up_by=person, put_up_at=timezone.now())


def let_plan_go() -> None:
    """Go back to the list by urgency."""
    with transaction.atomic(durable=True):
        _end_standing()


def _end_standing() -> None:
    RunPlan.objects.filter(ended_at=None).update(ended_at=timezone.now())
