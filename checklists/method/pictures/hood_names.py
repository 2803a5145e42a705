"""Where the names of the things in a hood are written: inside, beside, or as numbers in rows with leaders."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

LETTER, LINE = Decimal(14), Decimal(34)

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
    is_final: bool = False
    leader: Leader | None = None


def labelled(items: tuple[HoodItem, ...], ground: Area) -> tuple[HoodItem, ...]:
    """Write each label in its item or beside it.

    Where one finds no room, those that have none inside are numbered.
    """
    named = _beside(items, [item.area for item in items], ground, lambda item: item.label)
    return _numbered(items, ground) if named is None else named


def _beside(
    items: tuple[HoodItem, ...], taken: list[Area], ground: Area, words: Callable[[HoodItem], str]
) -> tuple[HoodItem, ...] | None:
    """Return them with their words where there is room, None when one has no room."""
    done: list[HoodItem] = []
    for item in items:
        place = next((p for p in _places(item, words(item)) if _is_free(p, item, taken, ground)), None)
        if place is None:
            return None
        taken = [*taken, place]
        done.append(replace(item, written=words(item), text_x=place.centre_x, text_y=place.centre_y))
    return tuple(done)


def _numbered(items: tuple[HoodItem, ...], ground: Area) -> tuple[HoodItem, ...]:
    """Number what has no room for its label: in it or beside it, else in a row with leaders."""
    roomy = tuple(
        replace(item, written=item.label) for item in items if item.area.holds(_places(item, item.label)[0])
    )
    named = {item.key for item in roomy}
    rest = [item for item in items if item.key not in named]
    numbered = tuple(replace(item, number=count, written=str(count)) for count, item in enumerate(rest, 1))
    near = _beside(numbered, [item.area for item in items], ground, lambda item: item.written)
    if near is not None:
        return (*roomy, *near)
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


def _places(item: HoodItem, words: str) -> tuple[Area, ...]:
    """Inside, then before it, behind it, to its right and to its left."""
    area, width = item.area, LETTER * len(words) + 6
    left, level = area.centre_x - width / 2, area.centre_y - LINE / 2
    return (
        Area(left, level, width, LINE),
        Area(left, area.bottom + 2, width, LINE),
        Area(left, area.y - LINE - 8, width, LINE),
        Area(area.x + area.width + 6, level, width, LINE),
        Area(area.x - width - 10, level, width, LINE),
    )


def _is_free(place: Area, item: HoodItem, taken: list[Area], ground: Area) -> bool:
    if place.meets(item.area):
        return item.area.holds(place)
    return ground.holds(place) and not any(place.meets(area) for area in taken)
