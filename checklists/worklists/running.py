"""The clocks of a step in words: what runs, what is over, and what to do next. Never an amount."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from checklists import clocks
from checklists.clocks import Clock, Name
from checklists.models import Preparation
from compounding.formulary.policy import current_policy
from compounding.reckoning.policy import Policy

#: From here on a clock is written large; one that lasts hours is not shown before its last hour.
SOON_MINUTES = 5
LAST_HOUR = 60
LONG = (Name.CONTAINER, Name.BEYOND_USE)

LABELS = {
    Name.WARM_UP: gettext_lazy("ready in"),
    Name.SURFACE: gettext_lazy("Surface"),
    Name.GLOVES: gettext_lazy("Gloves"),
    Name.CONTAINER: gettext_lazy("to use up"),
    Name.IN_PROCESS: gettext_lazy("In process"),
    Name.BEYOND_USE: gettext_lazy("Beyond use"),
}

#: Why a step was put in, said on it.
BECAUSE = {
    Name.SURFACE.value: gettext_lazy(
        "The surface was wiped more than %(minutes)d minutes ago: wipe it, then go on."
    ),
    Name.GLOVES.value: gettext_lazy(
        "These outer gloves were worn for %(minutes)d minutes: change them, then go on."
    ),
    "hands": gettext_lazy("Hands were out of first air: gloves first, then go on."),
}


@dataclass(frozen=True)
class ClockView:
    """One clock as it is shown: what for, how long still. `is_soon`: it ends within minutes."""

    label: str
    until: datetime
    left: str
    is_soon: bool


@dataclass(frozen=True)
class RunningView:
    """Every clock of a step, what is over in a sentence each, and what of it changes as time passes."""

    clocks: tuple[ClockView, ...]
    over: tuple[tuple[Name, str], ...]
    mark: str
    #: When the first of those clocks runs out that would stop the work or change its way.
    until: datetime | None = None


def running(preparation: Preparation, now: datetime) -> RunningView:
    """Return the clocks of the step that the work has come to."""
    policy = current_policy()
    found = clocks.running(preparation, policy, now)
    over = clocks.over(found, now)
    left = [clock for clock in found if clock not in over and _is_shown(clock, now)]
    return RunningView(
        clocks=tuple(_view(clock, now) for clock in left),
        over=tuple((clock.name, _sentence(clock, policy)) for clock in over),
        mark=f"{len(found)}-{len(over)}",
        until=min((one.until for one in found if one.name is not Name.WARM_UP), default=None),
    )


def because(about: dict[str, object]) -> str:
    """Return why a step was put in; empty for one that the procedure asks for."""
    why, policy = str(about.get("because", "")), current_policy()
    minutes = {Name.SURFACE.value: policy.surface_minutes, Name.GLOVES.value: policy.glove_minutes}
    return str(BECAUSE[why]) % {"minutes": minutes.get(why, 0)} if why in BECAUSE else ""


def written(seconds: int) -> str:
    """Return how long is left, as a clock beside the work says it: `3 h 20 min`, `12 min`, `1 min`."""
    minutes = -(-seconds // 60)
    hours, rest = divmod(minutes, 60)
    return _("%(h)d h %(m)d min") % {"h": hours, "m": rest} if hours else _("%(m)d min") % {"m": rest}


def _is_shown(clock: Clock, now: datetime) -> bool:
    return clock.name not in LONG or (clock.until - now).total_seconds() <= LAST_HOUR * 60


def _view(clock: Clock, now: datetime) -> ClockView:
    seconds = int((clock.until - now).total_seconds())
    label = " ".join(part for part in (clock.of.capitalize(), str(LABELS[clock.name])) if part)
    is_soon = clock.name is not Name.WARM_UP and seconds <= SOON_MINUTES * 60
    return ClockView(label=label, until=clock.until, left=written(seconds), is_soon=is_soon)


def _sentence(clock: Clock, policy: Policy) -> str:
    facts = {
        "of": clock.of.capitalize(),
        "since": f"{timezone.localtime(clock.since):%H:%M}",
        "hours": policy.in_process_hours,
        "surface": policy.surface_minutes,
        "gloves": policy.glove_minutes,
    }
    return OVER[clock.name] % facts


OVER = {
    Name.SURFACE: gettext_lazy(
        "The surface was wiped at %(since)s, more than %(surface)d minutes ago. Finish this transfer; "
        "the surface is wiped next."
    ),
    Name.GLOVES: gettext_lazy(
        "Outer gloves: %(gloves)d minutes are over. They are changed before anything else is touched."
    ),
    Name.CONTAINER: gettext_lazy(
        "%(of)s was opened at %(since)s; its time is over. Draw nothing more from it: something is wrong."
    ),
    Name.IN_PROCESS: gettext_lazy(
        "The first draw was at %(since)s, more than %(hours)d h ago. Stop: a pharmacist decides."
    ),
    Name.BEYOND_USE: gettext_lazy("Its beyond-use time is over; it can never be released. Give it up."),
}
