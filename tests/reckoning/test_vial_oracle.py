"""The vials to open against an exact integer solver, on shifts drawn at random from fixed seeds.

Source: vial_oracle.py, which states the problem anew for CP-SAT of OR-Tools, its gaps set to zero.
"""

import random
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest
from shift_facts import hours, lot, need, size

from compounding.reckoning.provisioning import NotEnoughStock, OpenContainer, Provision, Sharing, provision
from compounding.reckoning.quantities import of
from tests.reckoning.enumeration import Shift
from tests.reckoning.vial_oracle import best_by_solver

HAIR = Fraction(1, 10**15)  # a price per mg may have no end in decimals
PARTS = 10


def shift_of(seed: int) -> Shift:
    """Return a shift of up to six preparations, three sizes, six lots and two open containers."""
    chance = random.Random(seed)
    contents = chance.sample(range(2, 13), chance.randint(1, 3))
    hours_in_use = chance.choice([[0, 1, 2], [1, 12], [28 * 24], [0, 2, 12, 28 * 24]])
    sharing = chance.choice([[Sharing.ANYONE], [Sharing.ANYONE, Sharing.NOBODY], list(Sharing)])
    sizes = tuple(
        size(
            content,
            str(chance.randint(1, 9)),
            chance.choice(sharing),
            in_use=chance.choice(hours_in_use),
            is_kept=chance.random() < 0.25,
        )
        for content in contents
    )
    lots = tuple(
        lot(one.code, chance.randint(1, 6), chance.choice([1, 2, 3, 100, 200, 200]), f"{one.code} {n}")
        for one in sizes
        for n in range(chance.randint(1, 2))
    )
    patients = ["one", "two", "three", ""]
    needs = tuple(
        need(n, chance.randint(1, 14), chance.randint(0, 4), chance.choice(patients))
        for n in range(chance.randint(1, 6))
    )
    standing = tuple(
        OpenContainer(f"open {n}", chance.choice(sizes).code, of(chance.randint(1, 9), "mg"),
                      hours(chance.choice([-1, 0, 1, 3, 50, 900])), chance.choice(patients))
        for n in range(chance.choice([0, 0, 1, 2]))
    )  # fmt: skip
    return Shift(needs, sizes, lots, standing)


def whole_shift_of(seed: int) -> Shift:
    """Return such a shift with needs that are drawn from one container each, none larger than the largest."""
    shift = shift_of(seed)
    most = max(size.content for size in shift.sizes)
    needs = tuple(replace(need, content=min(need.content, most)) for need in shift.needs)
    return replace(shift, needs=needs, is_whole=True)


def planned(shift: Shift) -> Provision:
    return provision(shift.needs, shift.sizes, shift.lots, shift.standing, is_whole=shift.is_whole)


@pytest.mark.parametrize("part", range(PARTS))
def test_the_engine_agrees_with_an_exact_solver(part: int, times: Callable[[int, int], int]) -> None:
    plans = 0
    for seed in range(part, times(150, 1000), PARTS):
        shift = whole_shift_of(seed) if seed % 30 >= 20 else shift_of(seed)
        expected = best_by_solver(shift)
        if expected is None:
            with pytest.raises(NotEnoughStock):
                planned(shift)
            continue
        plan = planned(shift)
        assert plan.is_proved, seed
        assert abs(Fraction(plan.cost) - expected[0]) < HAIR, seed
        assert len(plan.takings) == expected[1], seed
        plans += 1
    assert plans > 3
