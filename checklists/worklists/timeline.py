"""One preparation along time: when it was worked on, when it waited, was checked and was held."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from checklists.daybook import What, in_ms
from checklists.models import Hold
from checklists.timings import StepTime, Total
from checklists.worklists.charts import Axis, axis
from checklists.worklists.durations import WHATS, length

WIDE = 860


@dataclass(frozen=True)
class Piece:
    """A length of a lane, and what was done in it."""

    x: float
    width: float
    words: str


@dataclass(frozen=True)
class Lane:
    """One line of the drawing."""

    what: str
    words: str
    y: int
    pieces: tuple[Piece, ...]


@dataclass(frozen=True)
class Timeline:
    """The drawing with its axis and its sentence."""

    lanes: tuple[Lane, ...]
    axis: Axis
    sentence: str


def timeline(
    opened: datetime, total: Total, times: Sequence[tuple[str, StepTime]], holds: Iterable[Hold]
) -> Timeline:
    """Return the timeline of a preparation from its opening to its end."""
    scale = axis(in_ms(total.wall), WIDE)

    def piece(start: datetime, long: timedelta, words: str) -> Piece:
        x = scale.at(in_ms(start - opened))
        return Piece(x, max(round(scale.at(in_ms(start - opened + long)) - x, 1), 1), words)

    found: dict[What, list[Piece]] = {what: [] for what in WHATS if what is not What.WHOLE}
    for name, time in times:
        parts = (
            (What.WORKED, time.started_at, time.worked),
            (What.WAITED, time.started_at, time.waited),
            (What.CHECKED, time.started_at + time.waited, time.checked),
        )
        for what, start, long in parts:
            if long:
                found[what].append(piece(start, long, f"{name}: {length(in_ms(long))}"))
    for hold in holds:
        long = (hold.resolved_at or opened + total.wall) - hold.opened_at
        found[What.HELD].append(piece(hold.opened_at, long, hold.get_cause_display()))
    lanes = tuple(
        Lane(str(what), str(WHATS[what]), 30 * place, tuple(pieces))
        for place, (what, pieces) in enumerate(found.items())
    )
    return Timeline(lanes, scale, _sentence(total))


def _sentence(total: Total) -> str:
    whole = in_ms(total.wall) or 1
    return _(
        "It took %(whole)s from opening to end; %(work)s of that were work, and %(wait)s waiting for "
        "a pharmacist, %(percent)d\u00a0%% of it."
    ) % {
        "whole": length(in_ms(total.wall)),
        "work": length(in_ms(total.worked)),
        "wait": length(in_ms(total.waited)),
        "percent": round(100 * in_ms(total.waited) / whole),
    }
