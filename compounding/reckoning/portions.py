"""Portions: how much of each draw comes from which container.

Equal shares where they fall on a mark, whole draws from one container where they fit, otherwise each
container in turn as far as a mark allows. All volumes are in mL; containers are counted from 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_FLOOR, Decimal

Shares = tuple[tuple[int, Decimal], ...]


def shares(draws: Sequence[tuple[Decimal, Decimal]], held: Decimal, containers: int) -> tuple[Shares, ...]:
    """Return for each draw (volume, step of its syringe) what comes from which container, each holding
    `held`.

    `containers` is how many the order takes; more are used where marks leave a rest behind.
    """
    if len(draws) == 1:
        return (_one_draw(*draws[0], held, containers),)
    return _whole(draws, held, containers) or _in_turn(draws, held)


def _one_draw(volume: Decimal, step: Decimal, held: Decimal, containers: int) -> Shares:
    """Return one draw shared alike where a share is at a mark, else each container in turn.

    Where marks would leave a container unopened that the order takes, the shares are nearly alike.
    """
    share = _at_mark(volume / containers, step)
    last = volume - share * (containers - 1)
    alike = (*((index, share) for index in range(containers - 1)), (containers - 1, last))
    if share == last <= held:
        return alike
    in_turn = _in_turn([(volume, step)], held)[0]
    return in_turn if len(in_turn) >= containers or not share or last > held else alike


def _whole(
    draws: Sequence[tuple[Decimal, Decimal]], held: Decimal, containers: int
) -> tuple[Shares, ...] | None:
    """Return each draw whole from one container, filling them in turn; None where that takes more
    containers.
    """
    index, left, found = 0, held, []
    for volume, _ in draws:
        if volume > left:
            index, left = index + 1, held
        if volume > left or index >= containers:
            return None
        left -= volume
        found.append(((index, volume),))
    return tuple(found)


def _in_turn(draws: Sequence[tuple[Decimal, Decimal]], held: Decimal) -> tuple[Shares, ...]:
    """Return each draw from the container at hand and the next ones, every portion at a mark."""
    index, left, found = 0, held, []
    for volume, step in draws:
        portions: list[tuple[int, Decimal]] = []
        while volume:
            taken = volume if volume <= left else _most_at_mark(left, step, held)
            if taken:
                portions.append((index, taken))
                volume, left = volume - taken, left - taken
            if volume:
                index, left = index + 1, held
        found.append(tuple(portions))
    return tuple(found)


def _most_at_mark(left: Decimal, step: Decimal, held: Decimal) -> Decimal:
    """Return what a container gives at a mark; one that never reaches a mark gives all it holds."""
    at_mark = _at_mark(left, step)
    return at_mark if at_mark or left < held else left


def _at_mark(volume: Decimal, step: Decimal) -> Decimal:
    """Return the volume at the mark at or below."""
    return (volume / step).quantize(Decimal(1), rounding=ROUND_FLOOR) * step
