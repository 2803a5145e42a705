"""The last amounts of a draw, as the tables beside the record hold them, and whether all three agree."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from checklists.independence import also_seen
from checklists.method.agreement import compare
from checklists.models import Preparation, Reading, Sighting
from compounding.reckoning.quantities import of
from compounding.reckoning.worksheet import Draw

#: The site's limit was judged at the reading; a policy changed since must not shut work that agreed.
ANY_CONTENT = Decimal(100)


@dataclass(frozen=True)
class Amounts:
    """One draw: what is required, the last reading of it, and what was seen of that reading last."""

    draw: Draw
    reading: Reading | None
    sighting: Sighting | None

    @property
    def is_seen(self) -> bool:
        """Say whether it was drawn, and a checker has read it as it was drawn last."""
        return self.reading is not None and self.sighting is not None

    @property
    def agree(self) -> bool:
        """Say whether they agreed, and the stored amounts still lie within half a mark."""
        if self.reading is None or self.sighting is None:
            return False
        drawn, seen = of(self.reading.volume_ml, "mL"), of(self.sighting.volume_ml, "mL")
        others = also_seen(self.reading, self.sighting.person)
        verdict = compare(self.draw, drawn=drawn, seen=seen, limit_percent=ANY_CONTENT, also_seen=others)
        return self.sighting.agrees and verdict.spread <= verdict.tolerance

    @property
    def readers(self) -> int:
        """Return how many pharmacists read the last filling and agreed."""
        if self.reading is None:
            return 0
        return self.reading.sightings.filter(agrees=True).values("person").distinct().count()


def amounts_of(preparation: Preparation, draw: Draw) -> Amounts:
    """Return the last amounts of a draw of that preparation."""
    readings = preparation.readings.filter(draw=draw.number).select_related("person")
    reading = readings.order_by("-attempt").first()
    sightings = reading.sightings.select_related("person").order_by("-pk") if reading else None
    return Amounts(draw, reading, sightings.first() if sightings is not None else None)
