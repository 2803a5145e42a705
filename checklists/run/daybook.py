"""The daybook is written for days that have passed: what they came to cannot change any more."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from checklists import daybook
from checklists.daybook import DAY, By
from checklists.models import DayTally

#: How far back days are counted that were missed, as when nobody looked for a while.
MOST_DAYS = 400


def keep_days(today: date | None = None, most_days: int = MOST_DAYS) -> int:
    """Keep what every past day came to that is not kept yet; return how many days that were."""
    days = daybook.missing(today or timezone.localdate(), most_days)
    for day in days:
        counted = daybook.count(list(By), day, day + DAY)
        rows = [DayTally(day=day, by=by, times=daybook.written(times)) for by, times in counted.items()]
        # two who count the same day at once come to the same
        DayTally.objects.bulk_create(rows, ignore_conflicts=True)
    return len(days)
