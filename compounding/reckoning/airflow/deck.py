"""A hood's deck and the things that stand on it, seen from above, in centimetres.

`x` runs from the left wall, `y` from the front edge toward the back. Horizontal flow comes from the
filter at the back and leaves over the front edge; vertical flow comes from above and leaves through
the grilles in the front and rear margins.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Flow = Literal["horizontal", "vertical"]
Shape = Literal["disc", "box"]
Side = Literal["left", "right"]


@dataclass(frozen=True)
class Margins:
    """The site's policy on room, in centimetres.

    `edge`: kept free inside the front edge, the walls and the filter (6 in = 15 cm; page).
    `hand`: kept between things in vertical flow, and the width of the strip of first air a critical
    site needs in horizontal flow (a hand's breadth; common practice, no source).
    `wakes`: how many widths of an object its wake reaches downstream (a cabinet manual says 3 to 6; page).
    """

    edge: Decimal = Decimal(15)
    hand: Decimal = Decimal(8)
    wakes: Decimal = Decimal(3)


USUAL = Margins()


@dataclass(frozen=True)
class Deck:
    """The work surface of one hood. `far_side` is where waste goes: away from the clean side."""

    width: Decimal
    depth: Decimal
    flow: Flow
    far_side: Side = "right"
    margins: Margins = USUAL


@dataclass(frozen=True)
class Item:
    """One thing to stand in the hood; a disc's `width` and `depth` are its diameter.

    `site` is the critical site (stopper, port, tip) as an offset from the item's centre, `dy` positive
    toward the back. `stays` marks what is in the hood in every round (the final bag); waste always stays.
    """

    key: str
    label: str
    shape: Shape
    width: Decimal
    depth: Decimal
    site: tuple[Decimal, Decimal] | None = None
    is_waste: bool = False
    stays: bool = False


@dataclass(frozen=True)
class Placed:
    """An item with its centre at (`x`, `y`)."""

    item: Item
    x: Decimal
    y: Decimal

    @property
    def critical(self) -> tuple[Decimal, Decimal] | None:
        """Return where the critical site is on the deck, or None for an item without one."""
        site = self.item.site
        return None if site is None else (self.x + site[0], self.y + site[1])


@dataclass(frozen=True)
class Round:
    """One introduction: everything that stands in the hood at the same time."""

    number: int
    placed: tuple[Placed, ...]
