"""How a draw is shared over containers. Sources: the drawn sketch (11 mL from each vial); common practice."""

from decimal import ROUND_CEILING, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.reckoning.portions import shares

D = Decimal
HALF, FIFTH = D("0.5"), D("0.2")


def shared(draws: list[tuple[str, Decimal]], held: str, containers: int) -> list[list[tuple[int, str]]]:
    found = shares([(D(volume), step) for volume, step in draws], D(held), containers)
    return [[(index, f"{volume.normalize():f}") for index, volume in share] for share in found]


@pytest.mark.parametrize(
    ("draw", "held", "containers", "expected"),
    [
        (("22", HALF), "20", 2, [(0, "11"), (1, "11")]),
        (("25", HALF), "20", 2, [(0, "12.5"), (1, "12.5")]),
        (("2.5", D("0.1")), "1", 3, [(0, "1"), (1, "1"), (2, "0.5")]),
        (("6", FIFTH), "3", 3, [(0, "2"), (1, "2"), (2, "2")]),
        (("6.2", FIFTH), "3.1", 3, [(0, "3"), (1, "3"), (2, "0.2")]),
        # the order takes four containers (marks rounded its volume down), so all four give nearly alike
        (("6.2", FIFTH), "3.1", 4, [(0, "1.4"), (1, "1.4"), (2, "1.4"), (3, "2")]),
        (("4", FIFTH), "10", 1, [(0, "4")]),
        # a container that never reaches a mark gives all it holds
        (("2", HALF), "0.4", 5, [(0, "0.4"), (1, "0.4"), (2, "0.4"), (3, "0.4"), (4, "0.4")]),
    ],
)
def test_one_draw(
    draw: tuple[str, Decimal], held: str, containers: int, expected: list[tuple[int, str]]
) -> None:
    assert shared([draw], held, containers) == [expected]


def test_alike_draws_come_whole_from_one_container_while_it_lasts() -> None:
    found = shared([("2", FIFTH)] * 12, "20", 2)
    assert [share[0][0] for share in found] == [0] * 10 + [1] * 2
    assert all(len(share) == 1 for share in found)


def test_where_whole_draws_take_more_containers_they_are_split() -> None:
    # 12 × 3 mL = 36 mL are 8 containers of 5 mL, but 12 of whole draws
    found = shared([("3", FIFTH)] * 12, "5", 8)
    assert found[1] == [(0, "2"), (1, "1")]
    assert max(index for share in found for index, _ in share) == 7


@given(
    st.lists(st.integers(1, 300), min_size=1, max_size=12),
    st.sampled_from([D("0.01"), D("0.1"), D("0.2"), D("0.5")]),
    st.integers(1, 200),
)
def test_portions_re_add_to_the_draws_and_no_container_gives_more_than_it_holds(
    marks: list[int], step: Decimal, held_steps: int
) -> None:
    draws, held = [(mark * step, step) for mark in marks], held_steps * step
    total = sum(volume for volume, _ in draws)
    found = shares(draws, held, int((total / held).to_integral_value(ROUND_CEILING)))
    given_out: dict[int, Decimal] = {}
    for (volume, _), share in zip(draws, found, strict=True):
        assert sum(part for _, part in share) == volume
        for index, part in share:
            assert part > 0
            given_out[index] = given_out.get(index, D(0)) + part
    assert max(given_out.values()) <= held
