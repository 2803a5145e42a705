"""Where things stand against an independent geometry: the same rules on whole shapes, areas and distances.

Source of the geometry: shapely, a library for polygons; of the rules, as in test_airflow.py.
"""

import random
from dataclasses import replace
from decimal import Decimal
from itertools import permutations

from hood_things import HORIZONTAL, TOP, VERTICAL, bag, vial, waste
from shapely import Point, Polygon, box

from compounding.reckoning.airflow import Deck, Item, Placed, faults, place


def flat(one: Placed) -> Polygon:
    """The thing as a shape of an independent library; a disc as a polygon of 256 sides that encloses it."""
    x, y = float(one.x), float(one.y)
    width, depth = float(one.item.width), float(one.item.depth)
    if one.item.shape == "box":
        return box(x - width / 2, y - depth / 2, x + width / 2, y + depth / 2)
    return Point(x, y).buffer(width / 2, quad_segs=64)


def is_sound(placed: tuple[Placed, ...], deck: Deck) -> bool:
    """The rules stated once more on whole shapes: areas that meet, distances, and half planes."""
    mirrored = deck.far_side == "left"
    placed = tuple(_mirrored(one, deck) for one in placed) if mirrored else placed
    edge, wide, deep = float(deck.margins.edge), float(deck.width), float(deck.depth)
    shapes = {one: flat(one) for one in placed}
    horizontal = deck.flow == "horizontal"
    work = box(edge, edge, wide - edge, deep - edge)
    for_waste = box(edge, 0, wide - edge, deep - edge) if horizontal else box(edge, edge, wide, deep - edge)
    for one, shape in shapes.items():
        room = for_waste if one.item.is_waste else work
        if shape.difference(room.buffer(1e-6)).area > 1e-6:
            return False
    return all(stand_well(one, other, shapes, deck) for one, other in permutations(placed, 2)) and not (
        horizontal and any(one.item.site is not None and one.item.site[1] < 0 for one in placed)
    )


def _mirrored(one: Placed, deck: Deck) -> Placed:
    site = one.item.site
    item = one.item if site is None else replace(one.item, site=(-site[0], site[1]))
    return Placed(item, deck.width - one.x, one.y)


def stand_well(one: Placed, other: Placed, shapes: dict[Placed, Polygon], deck: Deck) -> bool:
    """Tell whether one does the other no harm, waste being on the right."""
    mine, yours = shapes[one], shapes[other]
    if one.item.is_waste and not other.item.is_waste and other.x > one.x:
        return False
    if deck.flow == "vertical":
        return bool(mine.distance(yours) >= float(deck.margins.hand) - 1e-3)
    if mine.intersection(yours).area > 1e-3:
        return False
    if other.critical is None:
        return True
    x, y = map(float, other.critical)
    if one.item.is_waste and not other.item.is_waste and y <= float(one.y):
        return False
    half = float(deck.margins.hand) / 2
    first_air = box(x - half, y, x + half, float(deck.depth))
    left, front, right, _ = mine.bounds
    wake = box(left, front - float(deck.margins.wakes * one.item.width), right, front)
    return mine.intersection(first_air).area < 1e-3 and yours.intersection(wake).area < 1e-3


def thrown(chance: random.Random) -> tuple[tuple[Placed, ...], Deck]:
    """A few things set down at random: on whole half centimetres, so that near misses are clear ones."""
    deck = Deck(
        Decimal(chance.randint(70, 160)), Decimal(chance.randint(50, 90)),
        chance.choice(["horizontal", "vertical"]), chance.choice(["left", "right"]),
    )  # fmt: skip
    placed = []
    for number in range(chance.choice([1, 1, 2, 2, 3])):
        wide, deep = Decimal(chance.randint(2, 14)), Decimal(chance.randint(2, 14))
        shape = chance.choice(["disc", "box"])
        site = chance.choice([None, TOP, (Decimal(0), deep / 2), (Decimal(0), -deep / 2)])
        is_waste = chance.random() < 0.2
        item = Item(f"{number}", f"Thing {number}", shape, wide, wide if shape == "disc" else deep,
                    None if is_waste else site, is_waste)  # fmt: skip
        spots = [(12, int(deck.width) - 12), (0 if is_waste else 12, int(deck.depth) - 12)]
        x, y = (Decimal(chance.randint(2 * low, 2 * high)) / 2 for low, high in spots)
        placed.append(Placed(item, x, y))
    return tuple(placed), deck


def test_the_checker_agrees_with_an_independent_geometry_on_500_decks() -> None:
    # shapely measures areas and distances of polygons; no formula of the checker is used
    chance, sound = random.Random(15), 0
    for _ in range(500):
        placed, deck = thrown(chance)
        found = faults(placed, deck)
        assert (not found) == is_sound(placed, deck), (found, placed, deck)
        sound += not found
    assert 50 < sound < 450


def test_what_the_placer_sets_down_is_sound_to_an_independent_geometry(times) -> None:
    chance = random.Random(16)
    for _ in range(times(60, 500)):
        items = [vial(n, str(chance.randint(2, 8))) for n in range(chance.randint(1, 6))]
        deck = replace(chance.choice([HORIZONTAL, VERTICAL]), far_side=chance.choice(["left", "right"]))
        for one in place((bag(), *items, waste()), deck):
            assert is_sound(one.placed, deck)
