"""How high the liquid stands in a vial, an ampoule, a bag: surfaces in each drawing's own units."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

TENTH = Decimal("0.1")


@dataclass(frozen=True)
class Vessel:
    """Where the surface stands with nothing in it (`dry`) and filled up (`brim`)."""

    dry: Decimal
    brim: Decimal

    def surface(self, volume: Decimal, capacity: Decimal) -> Decimal:
        """Return the surface for a volume, both in mL; what is more than the capacity stands at the brim."""
        share = min(max(volume / capacity, Decimal(0)), Decimal(1))
        return (self.dry + (self.brim - self.dry) * share).quantize(TENTH)


#: `_vial_level.svg`. Upside down liquid lies on the stopper; a little always covers the needle's tip.
VIAL_UP = Vessel(dry=Decimal(172), brim=Decimal(66))
VIAL_DOWN = Vessel(dry=Decimal(54), brim=Decimal(160))

#: `_ampoule_body.svg` and `_bag_level.svg`, upright and hanging.
AMPOULE = Vessel(dry=Decimal(298), brim=Decimal(130))
BAG = Vessel(dry=Decimal(214), brim=Decimal(34))

#: How much more than its content a container would hold (common practice, no source).
ROOM = {"vial": Decimal("1.25"), "ampoule": Decimal("1.05"), "bag": Decimal("1.35")}


@dataclass(frozen=True)
class Level:
    """A surface before and after the step."""

    before: Decimal
    after: Decimal


def level(vessel: Vessel, before: Decimal, after: Decimal, capacity: Decimal) -> Level:
    """Return where the surface stands before and after: volumes and capacity in mL."""
    return Level(vessel.surface(before, capacity), vessel.surface(after, capacity))
