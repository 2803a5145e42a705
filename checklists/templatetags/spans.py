"""Times as a page writes them: how long something lasted, and when it is as seen from today."""

from __future__ import annotations

from datetime import datetime, timedelta

from django import template
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

register = template.Library()


@register.filter
def span(length: timedelta | None) -> str:
    """Return how long something lasted: `42 s`, `4 min 12 s`, `1 h 04 min` (no seconds from an hour on).

    Whole seconds, rounded down; nothing where there is no length.
    """
    if length is None:
        return ""
    seconds = max(0, int(length.total_seconds()))
    parts = {"hours": seconds // 3600, "minutes": seconds // 60 % 60, "seconds": seconds % 60}
    if parts["hours"]:
        return _("%(hours)d h %(minutes)02d min") % parts
    if parts["minutes"]:
        return _("%(minutes)d min %(seconds)02d s") % parts
    return _("%(seconds)d s") % parts


@register.filter
def when(moment: datetime | str | None) -> str:
    """Return a moment in local time: `14:30` today, `26 Nov 14:30` this year, else with the year.

    A text is ISO 8601 with its zone, as a worksheet keeps it.
    """
    if not moment:
        return ""
    if isinstance(moment, str):
        moment = datetime.fromisoformat(moment)
    local, today = timezone.localtime(moment), timezone.localdate()
    if local.date() == today:
        return date_format(local, "H:i")
    return date_format(local, "j M H:i" if local.year == today.year else "j M Y H:i")


@register.filter
def is_past(moment: datetime) -> bool:
    """Say whether a moment has passed."""
    return moment < timezone.now()
