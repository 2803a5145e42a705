"""The server's clock watched by the one that never jumps: a leap is kept, and said before an act is entered.

A clock that stands before the last entry is refused by `record`. One that leapt forward would date what is
done now to a time that is not, and no later entry could be written once it is set right.
"""

from __future__ import annotations

import time
from datetime import timedelta

from django.conf import settings
from django.utils import timezone

from checklists.models import Person, SecurityEvent
from checklists.refusals import ClockJumped
from checklists.run.events import note

FORWARD, BACK = "the clock leapt forward", "the clock leapt back"
#: For so long one leap is not said a second time: whoever presses again has looked at the clock.
TOLD_FOR = timedelta(minutes=10)
_last = [time.time(), time.monotonic()]


def refuse_leap(person: Person) -> None:
    """Refuse the first act after the clock leapt forward; keep a leap either way for whoever watches."""
    leapt = _leapt()
    if not settings.CLOCK_LEAP_SECONDS or abs(leapt) < settings.CLOCK_LEAP_SECONDS:
        return
    what, now = FORWARD if leapt > 0 else BACK, timezone.now()
    if SecurityEvent.objects.filter(what=what, at__gt=now - TOLD_FOR, at__lte=now).exists():
        return
    by = str(timedelta(seconds=int(abs(leapt))))
    note(what, person=person, about=f"by {by}")
    if leapt > 0:
        raise ClockJumped(by=by, now=f"{timezone.localtime(now):%d %b %Y %H:%M}")


def _leapt() -> float:
    """Return by how many seconds the clock went further than time did since the last act here."""
    wall, steady = time.time(), time.monotonic()
    leapt = (wall - _last[0]) - (steady - _last[1])
    _last[:] = wall, steady
    return leapt
