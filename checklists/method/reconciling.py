"""Reconciliation of a batch: every unit and every label accounted for, and the yield.

Units planned = handed over + rejected; labels printed = put on + destroyed: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import round_half_up, write_number

YIELD_STEP = Decimal("0.1")


@dataclass(frozen=True)
class Tally:
    """One batch, counted. `in_hand` and `destroyed` are counted by a person, all else is known.

    `drawn` and `labelled` are of units that were not rejected; `remaining` is in mL, by product.
    """

    planned: int
    rejected: int
    drawn: int
    labelled: int
    printed: int
    in_hand: int
    destroyed: int
    remaining: tuple[tuple[str, Decimal], ...] = ()

    @property
    def going_on(self) -> int:
        """Return the units that were not rejected."""
        return self.planned - self.rejected

    @property
    def to_destroy(self) -> int:
        """Return the labels printed that no unit carries."""
        return self.printed - self.labelled

    @property
    def yield_percent(self) -> str:
        """Return the units handed over in percent of those planned, to a tenth: `91.7 %`."""
        share = Decimal(100 * self.in_hand) / Decimal(self.planned)
        return f"{write_number(round_half_up(share, YIELD_STEP))} %"


def faults(tally: Tally) -> Iterator[str]:
    """Yield, in words, everything that does not add up."""
    if tally.in_hand != tally.going_on:
        yield (
            f"{tally.planned} planned less {tally.rejected} rejected leaves {tally.going_on}; "
            f"{tally.in_hand} are in hand."
        )
    if tally.drawn != tally.going_on:
        yield f"{tally.going_on} units go on, but {tally.drawn} were drawn."
    if tally.labelled != tally.going_on:
        yield f"{tally.going_on} units go on, but {tally.labelled} carry their label."
    if tally.destroyed != tally.to_destroy:
        yield (
            f"{tally.printed} labels printed less {tally.labelled} put on leaves {tally.to_destroy} "
            f"to destroy; {tally.destroyed} were counted."
        )
    for product, volume in tally.remaining:
        if volume < 0:
            short = write_number(-volume)
            yield f"More was drawn of {product} than its containers held: {short} mL."
