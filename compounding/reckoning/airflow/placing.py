"""Where things may stand in the hood: in the order of the work, from the clean side to the waste.

First fit over the corners that the margins and the things already placed leave, in several orders. It is
sound, not perfect: it may ask for one more round than the tightest packing would need.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from compounding.reckoning.airflow.deck import Deck, Item, Placed, Round
from compounding.reckoning.airflow.footprint import Footprint
from compounding.reckoning.refusals import CannotBeMade


class NoRoomInHood(CannotBeMade):
    """One item cannot stand in this hood, even with nothing but what must stay. Facts: item, width, depth."""

    wording = (
        "{item} has no place on a deck of {width} cm by {depth} cm beside what must stay in the hood. "
        "Use a larger hood or a smaller container."
    )


ORDERS: tuple[Callable[[Item], Decimal], ...] = (
    lambda item: Decimal(0),
    lambda item: -item.width,
    lambda item: -item.depth,
    lambda item: item.width,
)


def place(items: Sequence[Item], deck: Deck) -> tuple[Round, ...]:
    """Return where each item stands, in one round when all fit at once, else in rounds of introduction.

    Rounds keep the order of `items` (the order of the work); waste and what `stays` stands in each.
    In horizontal flow an item whose critical site faces the front is turned half round.
    Refuses `NoRoomInHood` when one item alone finds no place.
    """
    plain = _from_the_left(deck)
    faced = [_facing(item, deck) for item in items]
    lasting = [item for item in faced if item.is_waste or item.stays]
    waiting = [item for item in faced if item not in lasting]
    rounds: list[Round] = []
    while waiting or not rounds:
        placed = _fullest(lasting, waiting, plain)
        waiting = waiting[len(placed) - len(lasting) :]
        seen = tuple(_seen_from(one, deck) for one in placed)
        rounds.append(Round(len(rounds) + 1, seen))
    return tuple(rounds)


def _from_the_left(deck: Deck) -> Deck:
    """Return the deck with its waste on the right: one on the left is solved in a mirror."""
    return replace(deck, far_side="right")


def _facing(item: Item, deck: Deck) -> Item:
    """Return the item as it is set down: its site toward the filter, seen in the mirror if need be."""
    if item.site is None:
        return item
    dx, dy = item.site
    if deck.flow == "horizontal" and dy < 0:
        dx, dy = -dx, -dy
    return replace(item, site=(dx if deck.far_side == "right" else -dx, dy))


def _seen_from(placed: Placed, deck: Deck) -> Placed:
    if deck.far_side == "right":
        return placed
    site = placed.item.site
    item = placed.item if site is None else replace(placed.item, site=(-site[0], site[1]))
    return Placed(item, deck.width - placed.x, placed.y)


def _fullest(lasting: list[Item], waiting: list[Item], deck: Deck) -> list[Placed]:
    """Return all of them placed if any order manages it, else what lasts and the most of the next."""
    together = lasting + waiting
    for order in ORDERS:
        found = _first_fit(sorted(together, key=order), deck)
        if len(found) == len(together):
            return _in_order_of(together, found)
    found = _first_fit(together, deck)
    if len(found) < len(lasting) + min(len(waiting), 1):
        missing = together[len(found)]
        raise NoRoomInHood(item=missing.label, width=str(deck.width), depth=str(deck.depth))
    return found


def _in_order_of(items: list[Item], placed: list[Placed]) -> list[Placed]:
    return sorted(placed, key=lambda one: items.index(one.item))


def _first_fit(items: Sequence[Item], deck: Deck) -> list[Placed]:
    """Return the leading items that find a place, waste set down first wherever it comes."""
    taken = _waste_corners([item for item in items if item.is_waste], deck)
    corners = {spot.placed.item: spot for spot in taken}
    found: list[Placed] = []
    for item in items:
        spot = corners.get(item) or _first_spot(item, taken, deck)
        if spot is None or not _is_inside(spot, deck):
            break
        if not item.is_waste:
            taken.append(spot)
        found.append(spot.placed)
    return found


def _waste_corners(wastes: Sequence[Item], deck: Deck) -> list[Footprint]:
    """Return the waste's own places, the first farthest; it may use the margin downstream or far aside.

    Horizontal: along the front edge. Vertical: from the far wall inward, never on the front grille.
    """
    edge, hand = deck.margins.edge, deck.margins.hand
    is_vertical = deck.flow == "vertical"
    right = deck.width if is_vertical else deck.width - edge
    spots: list[Footprint] = []
    for item in wastes:
        front = edge if is_vertical else Decimal(0)
        spots.append(Footprint.of(item, right - item.width / 2, front + item.depth / 2, deck.margins))
        right -= item.width + (hand if is_vertical else 0)
    return spots


def _first_spot(item: Item, taken: Sequence[Footprint], deck: Deck) -> Footprint | None:
    spots = (Footprint.of(item, x, y, deck.margins) for x, y in _corners(item, taken, deck))
    return next((spot for spot in spots if _is_inside(spot, deck) and _is_free(spot, taken, deck)), None)


def _corners(item: Item, taken: Sequence[Footprint], deck: Deck) -> Iterator[tuple[Decimal, Decimal]]:
    """Yield the points worth trying, from the clean side; back first, siteless things front first."""
    columns = sorted(set(_columns(item, taken, deck)))
    rows = sorted(set(_rows(item, taken, deck)), reverse=True)
    if deck.flow == "vertical":
        yield from ((x, y) for x in columns for y in rows)
    elif item.site is None:
        yield from ((x, y) for y in reversed(rows) for x in columns)
    else:
        yield from ((x, y) for y in rows for x in columns)


def _columns(item: Item, taken: Sequence[Footprint], deck: Deck) -> Iterator[Decimal]:
    half, hand = item.width / 2, deck.margins.hand
    yield deck.margins.edge + half
    for spot in taken:
        right = spot.across[1]
        yield right + half + (hand if deck.flow == "vertical" else 0)
        if deck.flow == "horizontal" and spot.strip is not None:
            yield spot.strip[1] + half
        if deck.flow == "horizontal" and item.site is not None:
            yield right + hand / 2 - item.site[0]


def _rows(item: Item, taken: Sequence[Footprint], deck: Deck) -> Iterator[Decimal]:
    half, edge = item.depth / 2, deck.margins.edge
    gap = deck.margins.hand if deck.flow == "vertical" else Decimal(0)
    yield deck.depth - edge - half
    yield edge + half
    for spot in taken:
        yield spot.along[0] - gap - half


def _is_inside(spot: Footprint, deck: Deck) -> bool:
    edge, waste = deck.margins.edge, spot.placed.item.is_waste
    left = spot.across[0] >= edge
    right = spot.across[1] <= deck.width - (0 if waste and deck.flow == "vertical" else edge)
    front = spot.along[0] >= (0 if waste and deck.flow == "horizontal" else edge)
    return left and right and front and spot.along[1] <= deck.depth - edge


def _is_free(spot: Footprint, taken: Sequence[Footprint], deck: Deck) -> bool:
    return all(_tolerates(spot, other, deck) for other in taken)


def _tolerates(spot: Footprint, other: Footprint, deck: Deck) -> bool:
    if other.placed.item.is_waste and not _is_before_waste(spot.placed, other.placed, deck):
        return False
    if deck.flow == "vertical":
        return spot.keeps_a_hand_from(other, deck.margins.hand)
    return spot.keeps_clear_of(other)


def _is_before_waste(placed: Placed, waste: Placed, deck: Deck) -> bool:
    site = placed.critical
    upstream = deck.flow == "vertical" or site is None or site[1] > waste.y
    return placed.x <= waste.x and upstream
