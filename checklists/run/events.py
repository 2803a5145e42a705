"""Security events: kept in a table that only grows, and told to the log. Never a PIN, never a patient."""

from __future__ import annotations

import logging

from django.utils import timezone

from checklists.models import Person, SecurityEvent

LOG = logging.getLogger("counterdraw.security")
LONGEST_ABOUT = 120


def note(what: str, *, person: Person | None = None, about: str = "", address: str = "") -> None:
    """Keep that something happened; `about` says to whom or what, in words without a secret."""
    SecurityEvent.objects.create(
        at=timezone.now(), what=what, person=person, about=about[:LONGEST_ABOUT], address=address[:45]
    )
    LOG.warning("%s (person %s, from %s)", what, person.pk if person else "-", address or "-")
