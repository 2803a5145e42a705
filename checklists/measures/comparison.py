"""Two periods beside each other: how often a time of the later one is longer, and whether that is chance.

Mann and Whitney's test on tallies, with the correction for ties, by the normal curve.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from statistics import NormalDist

from checklists.measures.tallies import Tally, spread_of

#: A difference that chance alone brings less often than this is called one (common practice).
SELDOM = 0.01
#: Fewer of either are not compared: the normal curve does not hold for them (common practice, no source).
FEWEST = 8


@dataclass(frozen=True)
class Comparison:
    """`longer`: the share of pairs in which the later time is the longer one, ties counted half.

    `chance`: how often chance alone would part the two as far. Medians are in milliseconds.
    """

    before: float
    now: float
    longer: float
    chance: float

    @property
    def is_different(self) -> bool:
        """Say whether the difference is more than chance would often bring."""
        return self.chance < SELDOM

    @property
    def percent(self) -> int:
        """Return by how many percent the later median is longer (negative: shorter)."""
        return round((self.now / self.before - 1) * 100) if self.before else 0


def compare(before: Tally, now: Tally) -> Comparison | None:
    """Return the comparison of two tallies; None where either holds too few."""
    first, second = sum(before.values()), sum(now.values())
    middles = spread_of(before), spread_of(now)
    if min(first, second) < FEWEST or middles[0] is None or middles[1] is None:
        return None
    won, ties = _pairs(before, now)
    return Comparison(
        before=middles[0].median,
        now=middles[1].median,
        longer=won / (first * second),
        chance=_chance(won, first, second, ties),
    )


def _pairs(before: Tally, now: Tally) -> tuple[float, int]:
    """Return in how many pairs the later one is longer, and the sum of t³ - t over the ties."""
    together = Counter(before) + Counter(now)
    won, shorter, ties = 0.0, 0, 0
    for step in sorted(together):
        here = before.get(step, 0)
        won += now.get(step, 0) * (shorter + here / 2)
        shorter += here
        ties += together[step] ** 3 - together[step]
    return won, ties


def _chance(won: float, first: int, second: int, ties: int) -> float:
    whole = first + second
    variance = first * second / 12 * (whole + 1 - ties / (whole * (whole - 1)))
    if variance <= 0:  # all of them fell into one step
        return 1.0
    # half a pair nearer to the middle: counts are whole, the curve is not
    apart = max(abs(won - first * second / 2) - 0.5, 0) / variance**0.5
    return 2 * (1 - NormalDist().cdf(apart))
