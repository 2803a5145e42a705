"""The forecast against queues that can be reckoned by hand or by another way."""

from __future__ import annotations

import random

import pytest

from checklists.measures.forecast import Bench, Job, forecast
from checklists.measures.tallies import MIDDLES, step_of, tally

HOUR = 3_600_000
ONE = {step_of(HOUR): 1}
LONG = MIDDLES[step_of(HOUR)]


def jobs(count: int, due: float = 10 * HOUR, **more: object) -> list[Job]:
    return [Job(f"{number}", due, ONE, **more) for number in range(count)]


def middles(found) -> list[float]:
    return [round(one.middle / LONG, 3) for one in found.outlooks]


@pytest.mark.parametrize(
    ("hoods", "people", "wanted"),
    [(1, 1, [1, 2, 3, 4]), (2, 2, [1, 1, 2, 2]), (2, 1, [1, 2, 3, 4]), (1, 2, [1, 2, 3, 4]), (4, 4, [1] * 4)],
)
def test_alike_ones_queue_for_hood_and_person(hoods: int, people: int, wanted: list[int]) -> None:
    """Reckoned by hand: the scarcer of the two decides."""
    assert middles(forecast(jobs(4), Bench(hoods, 0, people))) == wanted


def test_whoever_is_due_first_is_made_first_but_what_is_begun_goes_on() -> None:
    found = forecast(
        [Job("later", 3 * HOUR, ONE), Job("soon", 2 * HOUR, ONE), Job("begun", 9 * HOUR, ONE, is_begun=True)],
        Bench(1, 0, 1),
    )
    assert [one.name for one in found.outlooks] == ["begun", "soon", "later"]
    assert found.all_in_time == 0
    assert [one.in_time for one in found.outlooks] == [1, 0, 0]  # 2 × 1.009 h is over 2 h


def test_what_comes_after_the_hand_over_holds_nobody() -> None:
    found = forecast(jobs(2, after=LONG / 2), Bench(1, 0, 1))
    assert middles(found) == [1, 1.5]


def test_a_hazardous_drug_waits_for_its_own_hood() -> None:
    found = forecast(jobs(2, is_hazardous=True), Bench(3, 1, 3))
    assert middles(found) == [1, 2]
    assert middles(forecast(jobs(3), Bench(3, 1, 3))) == [1, 1, 1]


def test_the_spread_is_that_of_the_lengths() -> None:
    """One person, two one after the other: the second is ready at the sum of two draws."""
    chance = random.Random(5)
    lengths = tally([round(HOUR * chance.lognormvariate(0, 0.4)) for _ in range(3000)])
    found = forecast([Job("a", HOUR, lengths), Job("b", 2 * HOUR, lengths)], Bench(1, 0, 1), plays=3000)
    values = [MIDDLES[step] for step, count in lengths.items() for _ in range(count)]
    sums = sorted(chance.choice(values) + chance.choice(values) for _ in range(20_000))
    assert found.outlooks[1].middle == pytest.approx(sums[10_000], rel=0.03)
    assert found.outlooks[1].late == pytest.approx(sums[18_000], rel=0.04)
    in_time = sum(one <= 2 * HOUR for one in sums) / len(sums)
    assert found.outlooks[1].in_time == pytest.approx(in_time, abs=0.03)


def test_the_same_list_gets_the_same_forecast_and_nothing_gets_none() -> None:
    assert forecast(jobs(5), Bench(2, 1, 2)) == forecast(jobs(5), Bench(2, 1, 2))
    assert forecast([], Bench(1, 0, 1)) is None
    assert forecast(jobs(1), Bench(0, 0, 1)) is None
    assert forecast(jobs(1), Bench(1, 0, 0)) is None
