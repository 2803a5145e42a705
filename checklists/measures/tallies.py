"""Tallies: times counted into steps of 4 %, which add up over days as single times would not.

A quantile of a tally is true to within half a step, 2 %, of one of the times it lies between.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping

from checklists.measures.spread import SHARES, Spread

#: Shorter than this is counted as this, in milliseconds; longer than the last edge as the last step.
SHORTEST, LONGEST = 100, 60 * 24 * 60 * 60 * 1000
RATIO = 1.04


def _edges() -> tuple[int, ...]:
    edge, edges = float(SHORTEST), []
    while edge < LONGEST:
        edges.append(round(edge))
        edge *= RATIO
    return tuple(edges)


EDGES = _edges()
#: The time that stands for each step: half way between its edges; nothing at all for step 0.
MIDDLES = (0.0, *((low + high) / 2 for low, high in zip(EDGES, (*EDGES[1:], LONGEST), strict=True)))

Tally = Mapping[int, int]


def step_of(milliseconds: int) -> int:
    """Return the step that a time is counted into; 0 for what took no time."""
    return bisect_right(EDGES, max(milliseconds, SHORTEST)) if milliseconds > 0 else 0


def tally(times: Iterable[int]) -> Counter[int]:
    """Return how many of the times (in milliseconds) fall into each step."""
    return Counter(map(step_of, times))


def added(tallies: Iterable[Tally]) -> Counter[int]:
    """Return several tallies as one."""
    whole: Counter[int] = Counter()
    for one in tallies:
        whole.update(one)
    return whole


def spread_of(counted: Tally) -> Spread | None:
    """Return the spread of what was counted, in milliseconds; None of nothing."""
    count = sum(counted.values())
    if not count:
        return None
    ordered = sorted(counted.items())
    return Spread(count, *(_quantile(ordered, count, share) for share in SHARES))


def _quantile(ordered: list[tuple[int, int]], count: int, share: float) -> float:
    """Return the middle of the step that holds this share's place; between two steps, by straight line."""
    place = (count - 1) * share
    low, high = _at(ordered, int(place)), _at(ordered, min(int(place) + 1, count - 1))
    return low + (high - low) * (place - int(place))


def _at(ordered: list[tuple[int, int]], place: int) -> float:
    passed = 0
    for step, count in ordered:
        passed += count
        if place < passed:
            return MIDDLES[step]
    return MIDDLES[ordered[-1][0]]
