"""The room an item takes when the placer sets it down: its square, its first air, its wake.

The placer's own geometry, coarser than the checker's on purpose: a disc counts as the square around it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.airflow.deck import Item, Margins, Placed

Span = tuple[Decimal, Decimal]


@dataclass(frozen=True)
class Footprint:
    """What one placed item takes: from left to right, from front to back, and the strip of its site."""

    placed: Placed
    across: Span
    along: Span
    strip: Span | None
    wake_front: Decimal

    @classmethod
    def of(cls, item: Item, x: Decimal, y: Decimal, margins: Margins) -> Footprint:
        """Return the footprint of the item with its centre at (`x`, `y`)."""
        placed = Placed(item, x, y)
        site = placed.critical
        half = margins.hand / 2
        return cls(
            placed=placed,
            across=(x - item.width / 2, x + item.width / 2),
            along=(y - item.depth / 2, y + item.depth / 2),
            strip=None if site is None else (site[0] - half, site[0] + half),
            wake_front=y - item.depth / 2 - margins.wakes * item.width,
        )

    def keeps_clear_of(self, other: Footprint) -> bool:
        """Tell whether both have still air: no overlap, no blocked first air, no site in a wake."""
        return not (self._overlaps(other) or self._disturbs(other) or other._disturbs(self))

    def keeps_a_hand_from(self, other: Footprint, hand: Decimal) -> bool:
        """Tell whether a hand fits between the two, to the side or in depth."""
        return not (_meet(self.across, other.across, hand) and _meet(self.along, other.along, hand))

    def _overlaps(self, other: Footprint) -> bool:
        return _meet(self.across, other.across) and _meet(self.along, other.along)

    def _disturbs(self, other: Footprint) -> bool:
        """Tell whether this item stands in the other's first air, or the other in this one's wake."""
        site = other.placed.critical
        if site is None or other.strip is None:
            return False
        in_strip = _meet(self.across, other.strip) and self.along[1] > site[1]
        in_wake = _meet(self.across, other.across) and _meet((self.wake_front, self.along[0]), other.along)
        return in_strip or in_wake


def _meet(one: Span, other: Span, gap: Decimal = Decimal(0)) -> bool:
    return one[0] < other[1] + gap and other[0] < one[1] + gap
