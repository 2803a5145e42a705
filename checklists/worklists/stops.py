"""What stopped the work: holds and mishaps by reason, and the checks that differed, by how much.

Only of preparations that have ended: of one under way nobody may learn an amount by a back door.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Count
from django.utils.translation import gettext as _

from checklists.daybook import bounds
from checklists.measures.pareto import Bar, pareto, vital_few
from checklists.method.mishaps import MISHAPS
from checklists.models import Hold, Mishap, Preparation, Sighting
from checklists.worklists.charts import ReasonBar, reason_bars
from checklists.worklists.durations import PERIODS, Asked, Choice
from compounding.formulary import codes
from compounding.reckoning.quantities import write_number

ENDED = (Preparation.State.RELEASED, Preparation.State.DISCARDED)
#: How many checks that differed are listed.
LISTED = 100


@dataclass(frozen=True)
class DifferedCheck:
    """One check that differed: the two volumes in mL and by how many percent of the drawn one."""

    code: str
    url_code: str
    at: datetime
    draw: int
    drawn: str
    seen: str
    by: str
    percent: str
    share: Decimal


@dataclass(frozen=True)
class StopsScreen:
    """The reasons in the order of their number, and the checks that differed, with their sentences."""

    asked: Asked
    periods: tuple[Choice, ...]
    reasons: tuple[ReasonBar, ...]
    sentence: str
    differed: tuple[DifferedCheck, ...]
    readings: int
    differed_sentence: str


def stops_screen(wanted: Asked) -> StopsScreen:
    """Return what stopped the work in the period."""
    bars = pareto(counts(wanted))
    found = tuple(differed(wanted))
    read = _readings(wanted)
    return StopsScreen(
        asked=wanted,
        periods=tuple(Choice(str(days), _("%d days") % days, days == wanted.days) for days in PERIODS),
        reasons=reason_bars(bars),
        sentence=_sentence(bars),
        differed=found[:LISTED],
        readings=read,
        differed_sentence=_differed_sentence(found, read),
    )


def counts(wanted: Asked) -> dict[str, int]:
    """Return how often each reason stopped the work, or was said, by its words."""
    since, until = bounds(wanted.first, wanted.after)
    counted: dict[str, int] = {}
    holds = Hold.objects.filter(opened_at__gte=since, opened_at__lt=until, mishap=None)
    for cause, number in holds.order_by().values_list("cause").annotate(Count("pk")):
        counted[str(Hold.Cause(cause).label)] = number
    said = Mishap.objects.filter(at__gte=since, at__lt=until).order_by()
    for code, number in said.values_list("code").annotate(Count("pk")):
        words = MISHAPS[code].words if code in MISHAPS else code
        counted[words] = counted.get(words, 0) + number
    return counted


def differed(wanted: Asked) -> Iterator[DifferedCheck]:
    """Yield the readings by checkers that did not agree, of preparations that have ended, newest first."""
    since, until = bounds(wanted.first, wanted.after)
    found = Sighting.objects.filter(
        agrees=False, at__gte=since, at__lt=until, reading__preparation__state__in=ENDED
    )
    for one in found.select_related("reading__preparation").order_by("-at"):
        drawn, seen = one.reading.volume_ml, one.volume_ml
        apart = seen - drawn
        share = abs(apart) / drawn * 100 if drawn else Decimal(0)
        yield DifferedCheck(
            code=codes.grouped(one.reading.preparation.code),
            url_code=one.reading.preparation.code,
            at=one.at,
            draw=one.reading.draw,
            drawn=write_number(drawn, 3),
            seen=write_number(seen, 3),
            by=("+" if apart > 0 else "−") + write_number(abs(apart), 3) if apart else "0",
            percent=write_number(share, 1),
            share=share,
        )


def _readings(wanted: Asked) -> int:
    since, until = bounds(wanted.first, wanted.after)
    ended = Preparation.objects.filter(ended_at__gte=since, ended_at__lt=until, state__in=ENDED).order_by()
    return Sighting.objects.filter(reading__preparation__in=ended.values("pk")).count()


def _sentence(bars: tuple[Bar, ...]) -> str:
    few = vital_few(bars)
    if not bars:
        return _("Nothing stopped the work in this period.")
    facts = {"few": few, "all": len(bars), "count": sum(bar.count for bar in bars)}
    return (
        _("The work was stopped %(count)d times; %(few)d of %(all)d reasons make up four of five of them.")
        % facts
    )


def _differed_sentence(found: tuple[DifferedCheck, ...], readings: int) -> str:
    if not found:
        return _("No check differed in this period.")
    most = max(one.share for one in found)
    facts = {"count": len(found), "all": max(readings, len(found)), "most": write_number(most, 1)}
    return _("%(count)d of %(all)d readings differed from what was drawn, by up to %(most)s\u00a0%%.") % facts
