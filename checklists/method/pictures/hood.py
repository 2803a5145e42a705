"""A hood's deck from above with everything where it stands, the filter or the back at the top."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from checklists.method.arrangement import FINAL
from checklists.method.pictures.hood_names import Area, HoodItem, labelled
from compounding.reckoning.airflow import Deck, Placed

WIDTH = 1000
TOP, BOTTOM = Decimal(34), Decimal(74)
TENTH = Decimal("0.1")

#: Rings of the air from above: how large, and how far from row to row.
RING, ACROSS = Decimal(16), Decimal(66)


@dataclass(frozen=True)
class Air:
    """One mark of the air: a line that begins at (`x`, `y`), or a ring there where it comes from above."""

    x: Decimal
    y: Decimal


@dataclass(frozen=True)
class HoodPicture:
    """The deck, the room inside its margins, the air and the items.

    `hatch` is the path of the slanted lines that mark the margins; `waste` the item waste goes into.
    """

    width: int
    height: Decimal
    deck: Area
    room: Area
    is_horizontal: bool
    edge: str
    hand: str
    air: tuple[Air, ...]
    hatch: str
    items: tuple[HoodItem, ...]
    has_numbers: bool

    @property
    def margin(self) -> Decimal:
        """Return how wide the margin is drawn."""
        return self.room.x

    @property
    def right_margin(self) -> Decimal:
        """Return where the right margin begins."""
        return self.room.x + self.room.width

    @property
    def margin_half(self) -> Decimal:
        """Return the middle of the left margin."""
        return self.room.x / 2

    @property
    def margin_middle(self) -> Decimal:
        """Return how far below the room's edge the margin's width is written."""
        return self.room.x / 2 + 10

    @property
    def waste(self) -> HoodItem | None:
        """Return the waste, if it is on this deck."""
        return next((item for item in self.items if item.is_waste), None)

    @property
    def has_finals(self) -> bool:
        """Tell whether a syringe on this deck is the product itself."""
        return any(item.is_final for item in self.items)

    @property
    def is_waste_left(self) -> bool:
        """Tell whether waste stands in the left half, so that the work goes from right to left."""
        return self.waste is not None and self.waste.area.centre_x < self.deck.centre_x


@dataclass(frozen=True)
class _Plan:
    """The deck on paper: centimetres from the front left corner become units from the top left."""

    deck: Deck

    @property
    def per_cm(self) -> Decimal:
        return WIDTH / self.deck.width

    def area(self, left: Decimal, front: Decimal, width: Decimal, depth: Decimal) -> Area:
        top = self.deck.depth - front - depth
        return Area(self.cm(left), TOP + self.cm(top), self.cm(width), self.cm(depth))

    def cm(self, length: Decimal) -> Decimal:
        return (length * self.per_cm).quantize(TENTH)


def hood_picture(deck: Deck, placed: tuple[Placed, ...]) -> HoodPicture:
    """Return the picture of an arrangement: `placed` as `airflow.place` found it, in centimetres."""
    plan = _Plan(deck)
    ground = plan.area(Decimal(0), Decimal(0), deck.width, deck.depth)
    edge = deck.margins.edge
    items = labelled(tuple(_item(number, one, plan) for number, one in enumerate(placed, 1)), ground)
    room = plan.area(edge, edge, deck.width - 2 * edge, deck.depth - 2 * edge)
    return HoodPicture(
        width=WIDTH,
        height=TOP + ground.height + BOTTOM,
        deck=ground,
        room=room,
        is_horizontal=deck.flow == "horizontal",
        edge=_written(edge),
        hand=_written(deck.margins.hand),
        air=tuple(_lines(ground)) if deck.flow == "horizontal" else tuple(_rings(ground, room, items)),
        hatch=_hatch(ground),
        items=items,
        has_numbers=any(item.written != item.label for item in items),
    )


def _lines(ground: Area) -> Iterator[Air]:
    """From the filter at the back all the way to the front edge."""
    return (Air(Decimal(x), ground.y) for x in range(50, WIDTH, 100))


def _rings(ground: Area, room: Area, items: tuple[HoodItem, ...]) -> Iterator[Air]:
    """Rings, as an arrow seen from behind, wherever nothing stands and nothing is written."""
    taken = [item.area for item in items]
    taken += [Area(item.text_x - 66, item.text_y - 20, Decimal(132), Decimal(40)) for item in items]
    taken += [Area(ground.centre_x - 20, ground.bottom - 140, Decimal(140), Decimal(140))]
    taken += [Area(x, ground.centre_y - 50, Decimal(130), Decimal(60)) for x in (Decimal(0), Decimal(870))]
    taken += [replace(room, height=Decimal(2)), Area(room.x, room.bottom, room.width, Decimal(2))]
    rows = int((ground.height - 60) // ACROSS)
    for y in (ground.y + 64 + ACROSS * row for row in range(rows)):
        for x in range(60, WIDTH, 110):
            ring = Area(x - RING, y - RING, 2 * RING, 2 * RING)
            if not any(ring.meets(area) for area in taken):
                yield Air(Decimal(x), y)


def _hatch(ground: Area) -> str:
    """Slanted lines over the whole deck; what lies inside the margins is painted over them."""
    step, height = 20, int(ground.height)
    return "".join(f"M{x} {ground.y + height}l{height}-{height}" for x in range(-height, WIDTH, step))


def _item(number: int, one: Placed, plan: _Plan) -> HoodItem:
    item = one.item
    left, front = one.x - item.width / 2, one.y - item.depth / 2
    area = plan.area(left, front, item.width, item.depth)
    site = one.critical
    return HoodItem(
        key=item.key,
        number=number,
        label=item.label,
        written=str(number),
        area=area,
        radius=area.width / 2 if item.shape == "disc" else None,
        site_x=plan.cm(site[0]) if site else None,
        site_y=TOP + plan.cm(plan.deck.depth - site[1]) if site else None,
        site_radius=min(Decimal(9), area.width / 3, area.height / 3).quantize(TENTH),
        text_x=area.centre_x,
        text_y=area.centre_y,
        wake=_wake(one, plan),
        is_waste=item.is_waste,
        is_final=item.key.startswith(FINAL),
    )


def _wake(one: Placed, plan: _Plan) -> Area | None:
    """The still air behind an object, down to the front edge at most; none where air comes from above."""
    if plan.deck.flow == "vertical" or one.item.is_waste:
        return None
    front = one.y - one.item.depth / 2
    length = min(front, plan.deck.margins.wakes * one.item.width)
    return plan.area(one.x - one.item.width / 2, front - length, one.item.width, length)


def _written(number: Decimal) -> str:
    return format(number.normalize(), "f")
