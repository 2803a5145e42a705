"""Quantiles, tallies and the comparison of two periods, against NumPy and SciPy on random times."""

from __future__ import annotations

import random
from collections import Counter

import numpy
import pytest
import scipy.stats

from checklists.measures.comparison import compare
from checklists.measures.pareto import pareto, vital_few
from checklists.measures.spread import SHARES, spread
from checklists.measures.tallies import EDGES, MIDDLES, added, spread_of, step_of, tally


def drawn(seed: int, count: int, middle: float = 30_000) -> list[int]:
    chance = random.Random(seed)
    return [round(middle * chance.lognormvariate(0, 0.7)) for _ in range(count)]


def figures(found) -> tuple[float, ...]:
    return found.least, found.lower, found.median, found.upper, found.most


def test_quantiles_agree_with_numpy(times) -> None:
    for seed in range(times(100, 5000)):
        values = drawn(seed, 1 + seed % 90)
        found = spread(values)
        assert found.count == len(values)
        assert figures(found) == pytest.approx(tuple(numpy.quantile(values, SHARES)))
    assert spread([]) is None


def test_quantiles_of_a_tally_lie_within_half_a_step_of_numpys(times) -> None:
    for seed in range(times(50, 2000)):
        values = drawn(seed, 200 + seed)
        wanted = numpy.quantile(values, SHARES)
        assert figures(spread_of(tally(values))) == pytest.approx(tuple(wanted), rel=0.025)


def test_tallies_of_days_add_up_to_the_tally_of_the_period() -> None:
    days = [drawn(seed, 40) for seed in range(28)]
    whole = [one for day in days for one in day]
    assert added(map(tally, days)) == tally(whole)
    assert spread_of(Counter()) is None


def test_every_time_is_counted_into_the_step_that_stands_for_it() -> None:
    for milliseconds in (*range(100, 3000, 7), *EDGES, 86_400_000, 10**12):
        step = step_of(milliseconds)
        assert 0 < step < len(MIDDLES)
        if milliseconds < EDGES[-1]:
            assert MIDDLES[step] == pytest.approx(milliseconds, rel=0.025)
    assert step_of(0) == step_of(-5) == 0
    assert MIDDLES[0] == 0


def test_the_comparison_agrees_with_scipys_mann_whitney(times) -> None:
    for seed in range(times(60, 2000)):
        before, now = drawn(seed, 8 + seed % 60), drawn(seed + 10**6, 8 + seed % 37, 30_000 + 400 * seed)
        binned = [[step_of(one) for one in row] for row in (before, now)]
        # alternative="two-sided" with the correction for continuity, on the same steps
        wanted = scipy.stats.mannwhitneyu(binned[1], binned[0], method="asymptotic")
        found = compare(tally(before), tally(now))
        assert found.longer * len(before) * len(now) == pytest.approx(wanted.statistic)
        assert found.chance == pytest.approx(wanted.pvalue, abs=1e-9)


def test_a_clear_difference_is_said_and_none_is_not() -> None:
    slower = compare(tally(drawn(1, 300)), tally(drawn(2, 300, 45_000)))
    assert slower.is_different
    assert slower.percent == pytest.approx(50, abs=15)
    assert not compare(tally(drawn(1, 300)), tally(drawn(2, 300))).is_different
    assert compare(tally([500] * 20), tally([500] * 20)).chance == 1
    assert compare(tally(drawn(1, 5)), tally(drawn(2, 300))) is None


def test_reasons_stand_in_the_order_of_their_number() -> None:
    """Reckoned by hand: 8, 6, 4, 2 of 20."""
    bars = pareto({"spill": 2, "label": 6, "amounts": 8, "vial": 4, "none": 0})
    assert [(bar.name, bar.count, bar.running) for bar in bars] == [
        ("amounts", 8, 0.4), ("label", 6, 0.7), ("vial", 4, 0.9), ("spill", 2, 1.0),
    ]  # fmt: skip
    assert vital_few(bars) == 3
    assert pareto({}) == ()
    assert vital_few(()) == 0
