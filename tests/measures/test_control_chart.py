"""Natural limits against a published example, and against NumPy on random rows."""

from __future__ import annotations

import random

import numpy
import pytest

from checklists.measures.control_chart import FEWEST, control_chart

#: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 Individuals Control Charts, flow rate of ten
#: batches. The ten values: memory. Its figures – mean 50.81, mean moving range 1.8778, limits 55.8041 and
#: 45.8159 – page (read as quoted by another project's proofs; the values give just those).
FLOW_RATE = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def test_the_limits_are_those_of_the_published_example() -> None:
    chart = control_chart(FLOW_RATE)
    assert chart.mean == pytest.approx(50.81, abs=1e-9)
    assert chart.mean_range == pytest.approx(1.8778, abs=5e-5)
    # the handbook divides by 1.128, which is 2.6596 instead of 2.66
    assert chart.upper == pytest.approx(55.8041, abs=1e-3)
    assert chart.lower == pytest.approx(45.8159, abs=1e-3)
    assert chart.beyond == ()


def test_the_limits_agree_with_numpy_on_random_rows(times) -> None:
    chance = random.Random(8)
    for _ in range(times(100, 5000)):
        values = [chance.lognormvariate(4, 0.6) for _ in range(chance.randrange(FEWEST, 200))]
        chart, row = control_chart(values), numpy.array(values)
        moving = numpy.abs(numpy.diff(row)).mean()
        assert chart.mean == pytest.approx(row.mean())
        assert (chart.lower, chart.upper) == pytest.approx(
            (row.mean() - 2.66 * moving, row.mean() + 2.66 * moving)
        )
        outside = numpy.flatnonzero((row < chart.lower) | (row > chart.upper))
        assert chart.beyond == tuple(outside)


def test_a_steady_process_seldom_goes_beyond_its_limits() -> None:
    """Three sigmas of a normal process: 3 in 1,000 lie beyond (memory)."""
    chance = random.Random(3)
    chart = control_chart([chance.gauss(60, 5) for _ in range(20_000)])
    assert 20 <= len(chart.beyond) <= 120


def test_one_that_stands_out_is_found() -> None:
    chart = control_chart([*FLOW_RATE, 70.0])
    assert chart.beyond == (10,)
    assert not chart.is_steady


def test_a_run_of_eight_on_one_side_is_found_and_seven_are_not() -> None:
    """Western Electric's run of eight; memory."""
    low, high = [10.0, 11.0] * 4, [20.0, 21.0] * 4
    assert control_chart(low + high).in_run == tuple(range(16))
    broken = [10.0, 11.0, 10.0, 11.0, 21.0, 10.0, 11.0, 10.0, 20.0, 21.0, 20.0, 21.0, 10.0, 20.0]
    assert control_chart(broken).in_run == ()


def test_too_few_have_no_chart() -> None:
    assert control_chart(FLOW_RATE[: FEWEST - 1]) is None
    assert control_chart(()) is None


def test_all_alike_are_steady() -> None:
    chart = control_chart([5.0] * 12)
    assert (chart.lower, chart.mean, chart.upper) == (5, 5, 5)
    assert chart.is_steady
