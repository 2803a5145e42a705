"""Which device has a preparation's step open: no act of the work, and not in its record."""

from __future__ import annotations

from django.db.models import F
from django.utils import timezone

from checklists.models import Person, Preparation


def open_on(*, code: str, person: Person, device: str) -> None:
    """Note that its technician has it open on this device; the one before is told by its next poll."""
    if device:
        Preparation.objects.filter(code=code, technician=person).exclude(open_on=device).update(
            open_before_on=F("open_on"), open_on=device, open_since=timezone.now()
        )
