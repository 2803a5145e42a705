"""The individuals control chart: which of a row of times are more than the usual up and down.

Limits: mean ± 2.66 × mean moving range of two neighbours (NIST/SEMATECH e-Handbook 6.3.2.2, which writes
3 / 1.128 for 2.66). A run of eight on one side of the mean is told too (Western Electric; memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from statistics import fmean

FACTOR = 2.66
RUN = 8
#: With fewer values the limits are no more than a guess (common practice, no source).
FEWEST = 8


@dataclass(frozen=True)
class ControlChart:
    """The values in their order with the natural limits of their process.

    `beyond`: places of values outside the limits; `in_run`: places in a run of eight or more on one side.
    """

    values: tuple[float, ...]
    mean: float
    mean_range: float
    lower: float
    upper: float
    beyond: tuple[int, ...]
    in_run: tuple[int, ...]

    @property
    def is_steady(self) -> bool:
        """Say whether nothing but the usual up and down shows."""
        return not self.beyond and not self.in_run


def control_chart(values: Sequence[float]) -> ControlChart | None:
    """Return the chart of values in the order in which they came; None where there are too few."""
    if len(values) < FEWEST:
        return None
    mean = fmean(values)
    mean_range = fmean(abs(after - before) for before, after in pairwise(values))
    lower, upper = mean - FACTOR * mean_range, mean + FACTOR * mean_range
    return ControlChart(
        values=tuple(values),
        mean=mean,
        mean_range=mean_range,
        lower=lower,
        upper=upper,
        beyond=tuple(place for place, value in enumerate(values) if not lower <= value <= upper),
        in_run=_in_run(values, mean),
    )


def _in_run(values: Sequence[float], mean: float) -> tuple[int, ...]:
    found: list[int] = []
    sides = [(value > mean) - (value < mean) for value in values]
    for side, group in groupby(range(len(values)), key=sides.__getitem__):
        places = list(group)
        if side and len(places) >= RUN:
            found.extend(places)
    return tuple(found)
