"""Where the middle of some times lies, and how far they spread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """Count, median, the middle half (`lower` to `upper`) and the middle eight in ten (`least` to `most`)."""

    count: int
    least: float
    lower: float
    median: float
    upper: float
    most: float


#: The shares below which `least`, `lower`, `median`, `upper` and `most` lie.
SHARES = (0.1, 0.25, 0.5, 0.75, 0.9)


def spread(values: Sequence[float]) -> Spread | None:
    """Return the spread of some values, None of none."""
    if not values:
        return None
    ordered = sorted(values)
    return Spread(len(ordered), *(quantile(ordered, share) for share in SHARES))


def quantile(ordered: Sequence[float], share: float) -> float:
    """Return the value below which that share lies, between two by straight line (Hyndman & Fan, type 7)."""
    place = (len(ordered) - 1) * share
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)
