"""Signing: the PIN again, at the very act it signs."""

from __future__ import annotations

from checklists.models import Person
from checklists.refusals import WrongPin

LONGEST_PIN = 64


def refuse_wrong_pin(person: Person, pin: str) -> None:
    """Refuse unless the PIN is this person's own."""
    if len(pin) > LONGEST_PIN or not person.check_password(pin):
        raise WrongPin()
