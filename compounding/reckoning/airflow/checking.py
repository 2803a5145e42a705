"""What is wrong with an arrangement in the hood; it knows nothing of how the arrangement was found.

Discs are measured as discs here, whereas the placer takes the square around them: the two share no
geometry. Sources: 15 cm working depth, first air and wakes (page); the rest common practice.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import combinations, permutations
from typing import NamedTuple

from compounding.reckoning.airflow.deck import Deck, Placed

NOTHING = Decimal(0)


class Box(NamedTuple):
    """An upright rectangle on the deck."""

    left: Decimal
    front: Decimal
    right: Decimal
    back: Decimal


def faults(placed: tuple[Placed, ...], deck: Deck) -> tuple[str, ...]:
    """Return every fault of the arrangement in words, nothing when it is sound.

    Checks the margins, the waste's place, and then, by flow: first air, wakes and overlaps
    (horizontal), or a hand's breadth between any two things (vertical).
    """
    found = list(_misplaced(placed, deck))
    found += _nearer_than_waste(placed, deck)
    if deck.flow == "vertical":
        found += _crowded(placed, deck.margins.hand)
    else:
        found += _overlapping(placed)
        found += _without_first_air(placed, deck)
        found += _in_wakes(placed, deck)
    return tuple(found)


def _bounds(one: Placed) -> Box:
    half_width, half_depth = one.item.width / 2, one.item.depth / 2
    return Box(one.x - half_width, one.y - half_depth, one.x + half_width, one.y + half_depth)


def _allowed(one: Placed, deck: Deck) -> Box:
    edge = deck.margins.edge
    left, front, right, back = edge, edge, deck.width - edge, deck.depth - edge
    if one.item.is_waste and deck.flow == "horizontal":
        front = NOTHING
    elif one.item.is_waste and deck.far_side == "right":
        right = deck.width
    elif one.item.is_waste:
        left = NOTHING
    return Box(left, front, right, back)


def _misplaced(placed: tuple[Placed, ...], deck: Deck) -> Iterator[str]:
    vertical = deck.flow == "vertical"
    front = "covers the front grille" if vertical else "stands too near the front edge"
    back = "covers the rear grille" if vertical else "stands too near the filter"
    for one in placed:
        body, room = _bounds(one), _allowed(one, deck)
        if body.front < room.front:
            yield f"{one.item.label} {front}."
        if body.back > room.back:
            yield f"{one.item.label} {back}."
        if body.left < room.left or body.right > room.right:
            yield f"{one.item.label} stands too near a side wall."


def _nearer_than_waste(placed: tuple[Placed, ...], deck: Deck) -> Iterator[str]:
    toward = 1 if deck.far_side == "right" else -1
    for waste in (one for one in placed if one.item.is_waste):
        for other in (one for one in placed if not one.item.is_waste):
            if (other.x - waste.x) * toward > 0:
                yield f"{other.item.label} stands beyond {waste.item.label}: waste belongs on the far side."
            if deck.flow == "horizontal" and other.critical and other.critical[1] <= waste.y:
                yield f"{waste.item.label} stands upstream of {other.item.label}."


def _crowded(placed: tuple[Placed, ...], hand: Decimal) -> Iterator[str]:
    for one, other in combinations(placed, 2):
        if not _is_apart(one, other, hand):
            yield f"{one.item.label} and {other.item.label} stand less than {hand} cm apart."


def _overlapping(placed: tuple[Placed, ...]) -> Iterator[str]:
    for one, other in combinations(placed, 2):
        if not _is_apart(one, other, NOTHING):
            yield f"{one.item.label} and {other.item.label} overlap."


def _without_first_air(placed: tuple[Placed, ...], deck: Deck) -> Iterator[str]:
    for one in placed:
        if one.item.site is not None and one.item.site[1] < 0:
            yield f"{one.item.label} lies between the filter and its own critical site: turn it round."
    for one, other in permutations(placed, 2):
        strip = _strip(one, deck)
        if strip is not None and _touches(other, strip):
            yield f"{other.item.label} blocks the first air of {one.item.label}."


def _strip(one: Placed, deck: Deck) -> Box | None:
    if one.critical is None:
        return None
    x, y = one.critical
    half = deck.margins.hand / 2
    return Box(x - half, y, x + half, deck.depth)


def _in_wakes(placed: tuple[Placed, ...], deck: Deck) -> Iterator[str]:
    for one, other in permutations(placed, 2):
        body = _bounds(one)
        wake = Box(body.left, body.front - deck.margins.wakes * one.item.width, body.right, body.front)
        if other.item.site is not None and _touches(other, wake):
            yield f"{other.item.label} stands in the wake of {one.item.label}."


def _touches(one: Placed, area: Box) -> bool:
    """Tell whether the item's body reaches inside the area; touching its edge is not inside."""
    if one.item.shape == "disc":
        return _squared(*_offset(one, area)) < (one.item.width / 2) ** 2
    body = _bounds(one)
    across = body.left < area.right and area.left < body.right
    return across and body.front < area.back and area.front < body.back


def _offset(one: Placed, area: Box) -> tuple[Decimal, Decimal]:
    """Return how far the item's centre lies outside the area, in each direction."""
    across = max(area.left - one.x, one.x - area.right, NOTHING)
    along = max(area.front - one.y, one.y - area.back, NOTHING)
    return across, along


def _squared(across: Decimal, along: Decimal) -> Decimal:
    return across * across + along * along


def _is_apart(one: Placed, other: Placed, gap: Decimal) -> bool:
    if one.item.shape == "disc" and other.item.shape == "disc":
        reach = (one.item.width + other.item.width) / 2 + gap
        return _squared(one.x - other.x, one.y - other.y) >= reach * reach
    if one.item.shape == "disc":
        reach = one.item.width / 2 + gap
        return _squared(*_offset(one, _bounds(other))) >= reach * reach
    if other.item.shape == "disc":
        return _is_apart(other, one, gap)
    return _boxes_apart(_bounds(one), _bounds(other), gap)


def _boxes_apart(one: Box, other: Box, gap: Decimal) -> bool:
    across = max(one.left - other.right, other.left - one.right, NOTHING)
    along = max(one.front - other.back, other.front - one.back, NOTHING)
    if across == 0 and along == 0:
        inside = one.left < other.right and other.left < one.right
        return gap == 0 and not (inside and one.front < other.back and other.front < one.back)
    return _squared(across, along) >= gap * gap
