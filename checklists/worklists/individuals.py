"""The latest times of one thing, one by one: is the last one more than the usual up and down?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from checklists import daybook
from checklists.daybook import By, What, bounds, parts
from checklists.measures.control_chart import FEWEST, RUN, ControlChart, control_chart
from checklists.models import Preparation, Step
from checklists.worklists.charts import ControlDrawing, control_drawing
from checklists.worklists.durations import WHATS, Asked, length, names_of
from compounding.formulary import codes

#: How many of the latest are drawn.
SHOWN = 60


@dataclass(frozen=True)
class Individual:
    """One time: of which preparation, when it ended, how long it took."""

    code: str
    at: datetime
    length: timedelta
    stands_out: str


@dataclass(frozen=True)
class IndividualsScreen:
    """The chart with its numbers and its sentence; without a chart where there are too few."""

    name: str
    whats: str
    drawing: ControlDrawing | None
    mean: timedelta
    lower: timedelta
    upper: timedelta
    rows: tuple[Individual, ...]
    sentence: str


def individuals_screen(wanted: Asked) -> IndividualsScreen:
    """Return the latest times of the one thing that was asked for, oldest first."""
    key, what = wanted.one, wanted.what
    found = _latest(wanted, key, what)
    chart = control_chart([milliseconds for _code, _at, milliseconds in found])
    name = names_of(wanted.by).get(key) or (f"{key}:00" if wanted.by in (By.HOUR, By.ASKED) else key)
    words = [_words(*one) for one in found]
    mean, lower, upper = (chart.mean, max(chart.lower, 0), chart.upper) if chart else (0, 0, 0)
    return IndividualsScreen(
        name=name,
        whats=str(WHATS[what]),
        drawing=control_drawing(chart, words) if chart else None,
        mean=timedelta(milliseconds=mean),
        lower=timedelta(milliseconds=lower),
        upper=timedelta(milliseconds=upper),
        rows=tuple(
            Individual(codes.grouped(code), at, timedelta(milliseconds=ms), _standing(chart, place))
            for place, (code, at, ms) in enumerate(found)
        ),
        sentence=_sentence(f"{name} ({WHATS[what]})", chart),
    )


def _words(code: str, at: datetime, milliseconds: int) -> str:
    return f"{codes.grouped(code)}, {date_format(timezone.localtime(at), 'j M H:i')}: {length(milliseconds)}"


def _standing(chart: ControlChart | None, place: int) -> str:
    if chart is None:
        return ""
    if place in chart.beyond:
        return _("beyond the limits")
    return _("in a run") if place in chart.in_run else ""


def _sentence(name: str, chart: ControlChart | None) -> str:
    if chart is None:
        return _("At least %(fewest)d are needed before usual and unusual can be told apart.") % {
            "fewest": FEWEST
        }
    facts = {
        "name": name,
        "low": length(max(chart.lower, 0)),
        "high": length(chart.upper),
        "count": len(chart.beyond),
        "run": RUN,
    }
    if chart.beyond:
        return (
            _(
                "%(name)s usually takes up to %(high)s; %(count)d of these took longer or shorter "
                "than the usual up and down explains: ask what was different."
            )
            % facts
        )
    if chart.in_run:
        return (
            _(
                "%(name)s stays within its usual up and down, but %(run)d or more in a row lie on one side "
                "of the mean: something has changed."
            )
            % facts
        )
    return (
        _(
            "%(name)s is steady: expect the next one to take up to %(high)s. A single long or short one "
            "within the limits needs no explanation."
        )
        % facts
    )


Found = list[tuple[str, datetime, int]]


def _latest(wanted: Asked, key: str, what: What) -> Found:
    """Return code, end and milliseconds of the latest, oldest first."""
    since, until = bounds(wanted.first, wanted.after)
    if wanted.by is By.KIND:
        return _steps({"kind": key}, what, since, until)
    if wanted.by is By.ASKED:
        return _steps({"started_at__hour": int(key)} if key.isdecimal() else {}, What.WAITED, since, until)
    return _preparations(wanted.by, key, what, since, until)


def _steps(only: dict[str, Any], what: What, since: datetime, until: datetime) -> Found:
    steps = Step.objects.filter(finished_at__gte=since, finished_at__lt=until, **only).exclude(
        started_at=None
    )
    rows: Iterable[Any] = steps.order_by("-finished_at").values_list(
        "preparation__code", "kind", "started_at", "taken_at", "finished_at"
    )[:SHOWN]
    found = [(code, end, dict(parts(kind, start, taken, end))) for code, kind, start, taken, end in rows]
    return [(code, end, times[what]) for code, end, times in reversed(found) if what in times]


def _preparations(by: By, key: str, what: What, since: datetime, until: datetime) -> Found:
    released = Preparation.objects.filter(
        state=Preparation.State.RELEASED, ended_at__gte=since, ended_at__lt=until
    )
    named = {"opened_at__hour": int(key) if key.isdecimal() else -1} if by is By.HOUR else _named(by, key)
    latest = list(
        released.filter(**named).order_by("-ended_at").values_list("pk", "code", "ended_at")[:SHOWN]
    )
    times = daybook.times_of([pk for pk, _code, _end in latest])
    return [(code, end, times[pk][what]) for pk, code, end in reversed(latest) if end]


def _named(by: By, key: str) -> dict[str, Any]:
    field = daybook.NAMED_BY[by]
    return {field: key} if key or by is By.TEAM else {f"{field}__isnull": True}
