"""A hood's deck from above with everything where it stands, the filter or the back at the top."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from compounding.reckoning.airflow import Deck, Placed

WIDTH = 1000
TOP, BOTTOM = Decimal(30), Decimal(46)
LETTER, LINE = Decimal(15), Decimal(36)
TENTH = Decimal("0.1")

#: A row of numbers: how far from the things, how far apart, and how far a leader stays off its number.
ROW, STEP, LEAD = Decimal(44), Decimal(44), Decimal(16)


@dataclass(frozen=True)
class Area:
    """An upright rectangle of the drawing."""

    x: Decimal
    y: Decimal
    width: Decimal
    height: Decimal

    def meets(self, other: Area) -> bool:
        """Tell whether the two share any ground."""
        across = self.x < other.x + other.width and other.x < self.x + self.width
        return across and self.y < other.y + other.height and other.y < self.y + self.height

    def holds(self, other: Area) -> bool:
        """Tell whether the other lies wholly inside."""
        across = self.x <= other.x and other.x + other.width <= self.x + self.width
        return across and self.y <= other.y and other.y + other.height <= self.y + self.height

    @property
    def bottom(self) -> Decimal:
        """Return where it ends, below."""
        return self.y + self.height

    @property
    def centre_x(self) -> Decimal:
        """Return the middle, from left to right."""
        return self.x + self.width / 2

    @property
    def centre_y(self) -> Decimal:
        """Return the middle, from top to bottom."""
        return self.y + self.height / 2


@dataclass(frozen=True)
class Leader:
    """The line that ties a number to its item: from (`x`, `y`) at the item to `to_y` at the number."""

    x: Decimal
    y: Decimal
    to_y: Decimal


@dataclass(frozen=True)
class HoodItem:
    """One thing on the deck. `written` is its label, or its number where the label finds no room."""

    key: str
    number: int
    label: str
    written: str
    area: Area
    radius: Decimal | None
    site_x: Decimal | None
    site_y: Decimal | None
    site_radius: Decimal
    text_x: Decimal
    text_y: Decimal
    wake: Area | None
    is_waste: bool
    leader: Leader | None = None


@dataclass(frozen=True)
class HoodPicture:
    """The deck, the room inside its margins, the air and the items."""

    width: int
    height: Decimal
    deck: Area
    room: Area
    is_horizontal: bool
    edge: str
    hand: str
    air: tuple[Decimal, ...]
    items: tuple[HoodItem, ...]
    has_numbers: bool


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
    items = _labelled(tuple(_item(number, one, plan) for number, one in enumerate(placed, 1)), ground)
    return HoodPicture(
        width=WIDTH,
        height=TOP + ground.height + BOTTOM,
        deck=ground,
        room=plan.area(edge, edge, deck.width - 2 * edge, deck.depth - 2 * edge),
        is_horizontal=deck.flow == "horizontal",
        edge=_written(edge),
        hand=_written(deck.margins.hand),
        air=tuple(Decimal(x) for x in range(50, WIDTH, 100)),
        items=items,
        has_numbers=any(item.written != item.label for item in items),
    )


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
    )


def _wake(one: Placed, plan: _Plan) -> Area | None:
    """The still air behind an object, down to the front edge at most; none where air comes from above."""
    if plan.deck.flow == "vertical" or one.item.is_waste:
        return None
    front = one.y - one.item.depth / 2
    length = min(front, plan.deck.margins.wakes * one.item.width)
    return plan.area(one.x - one.item.width / 2, front - length, one.item.width, length)


def _labelled(items: tuple[HoodItem, ...], ground: Area) -> tuple[HoodItem, ...]:
    """Write each label inside its item, else in front of it, else behind it.

    Where one finds no room, all that have none inside are numbered.
    """
    taken = [item.area for item in items]
    done = []
    for item in items:
        place = next((p for p in _places(item) if _is_free(p, item, taken, ground)), None)
        if place is None:
            return _numbered(items, ground)
        taken.append(place)
        done.append(replace(item, written=item.label, text_x=place.centre_x, text_y=place.centre_y))
    return tuple(done)


def _numbered(items: tuple[HoodItem, ...], ground: Area) -> tuple[HoodItem, ...]:
    """Number what has no room for its label: inside it, else in a row behind or before the things."""
    roomy = [replace(item, written=item.label) for item in items if item.area.holds(_places(item)[0])]
    named = {item.key for item in roomy}
    rest = [item for item in items if item.key not in named]
    numbered = [replace(item, number=count, written=str(count)) for count, item in enumerate(rest, 1)]
    inside = [item for item in numbered if item.area.width >= STEP and item.area.height >= LEAD * 2]
    outside = [item for item in numbered if item not in inside]
    done = (*inside, *_in_rows(outside, ground))
    return (*roomy, *sorted(done, key=lambda item: item.number))


def _in_rows(items: list[HoodItem], ground: Area) -> tuple[HoodItem, ...]:
    if not items:
        return ()
    middle = sum((item.area.centre_y for item in items), Decimal(0)) / len(items)
    behind = [item for item in items if item.area.centre_y <= middle]
    before = [item for item in items if item.area.centre_y > middle]
    back = max(min(item.area.y for item in behind) - ROW, ground.y + LINE)
    front = max((item.area.bottom for item in before), default=ground.y) + ROW
    return (*_row(behind, back), *_row(before, min(front, ground.bottom - LINE / 2)))


def _row(items: list[HoodItem], y: Decimal) -> Iterator[HoodItem]:
    """Set each number as near to its item as its neighbours allow, tied to it by a leader."""
    x = Decimal(0)
    for item in sorted(items, key=lambda item: item.area.centre_x):
        x = max(item.area.centre_x, x + STEP)
        yield _led(item, x, y)


def _led(item: HoodItem, x: Decimal, y: Decimal) -> HoodItem:
    is_behind = y < item.area.y
    end = item.area.y if is_behind else item.area.bottom
    leader = Leader(item.area.centre_x, end, y + (LEAD if is_behind else -LEAD))
    return replace(item, text_x=x, text_y=y, leader=leader)


def _places(item: HoodItem) -> tuple[Area, ...]:
    width = LETTER * len(item.label) + 2
    left = item.area.centre_x - width / 2
    inside = Area(left, item.area.centre_y - LINE / 2, width, LINE)
    before = Area(left, item.area.bottom + 2, width, LINE)
    behind = Area(left, item.area.y - LINE - 8, width, LINE)
    return (inside, before, behind)


def _is_free(place: Area, item: HoodItem, taken: list[Area], ground: Area) -> bool:
    if place.meets(item.area):
        return item.area.holds(place)
    return ground.holds(place) and not any(place.meets(area) for area in taken)


def _written(number: Decimal) -> str:
    return format(number.normalize(), "f")
