"""A hood switched on or off: its warm-up is counted from then."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from checklists.models import Hood, Preparation
from checklists.refusals import HoodInUse, NotASwitch
from compounding.formulary import codes


def switch_hood(*, hood: Hood, to: str) -> None:
    """Note that the hood was switched on or off just now. Off is refused while work is in it."""
    if to not in ("on", "off"):
        raise NotASwitch()
    is_on = to == "on"
    with transaction.atomic(durable=True):
        inside = Preparation.objects.filter(hood=hood).first()
        if inside and not is_on:
            raise HoodInUse(
                hood=hood.name, code=codes.grouped(inside.code), technician=inside.technician.name
            )
        hood.running_since = timezone.now() if is_on else None
        hood.save(update_fields=["running_since"])
