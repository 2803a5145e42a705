"""Controlled medicines: what of each container did not go into the product, and whether it is accounted for.

Drawn less given, and what is left in a container that serves nobody else: a second person watches it being
destroyed (common practice, no source; the law of the place decides more).
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet

from checklists.counting import rejected_draws
from checklists.models import Entry, Material, Preparation
from checklists.remains import Remains
from compounding.formulary.models import Product
from compounding.reckoning.quantities import of, write
from compounding.reckoning.worksheet import Worksheet

#: The act that accounts for it. Its entry holds everything: what was reckoned, what was measured, who saw it.
ACT = "account for waste"


@dataclass(frozen=True)
class Remainder:
    """One opened container: what it held when full, what went into the product, what is destroyed. In mL."""

    container: str
    name: str
    lot: str
    full: Decimal
    given: Decimal
    waste: Decimal
    stays: bool

    @property
    def written(self) -> str:
        """Return what is destroyed as the record writes it."""
        return write(of(self.waste, "mL"), 2)


def containers_of(worksheet: Worksheet) -> list[str]:
    """Return the containers of a worksheet that hold a controlled medicine."""
    gtins = {one.product for one in worksheet.containers}
    controlled = set(
        Product.objects.filter(gtin__in=gtins, is_controlled=True).values_list("gtin", flat=True)
    )
    return [one.key for one in worksheet.containers if one.product in controlled]


def remainders(preparation: Preparation) -> tuple[Remainder, ...]:
    """Return every opened container of a controlled medicine; of discarded work nothing was given."""
    its = preparation.materials.filter(lot__product__is_controlled=True).select_related("lot__product")
    materials = list(its.order_by("pk"))
    if not materials:
        return ()
    remains = Remains(preparation)
    given = _given(preparation, remains)
    opened = {key for key, volume in remains.gone().items() if volume} | set(remains.opened_ampoules)
    return tuple(
        _remainder(one, remains, given[one.container])
        for one in materials
        if one.container in opened | remains.spoiled
    )


def _given(preparation: Preparation, remains: Remains) -> dict[str, Decimal]:
    sums: dict[str, Decimal] = defaultdict(Decimal)
    if preparation.state == Preparation.State.DISCARDED:
        return sums
    gone = rejected_draws(preparation, remains.worksheet)
    for number, reading in remains.live.items():
        for key, volume in remains.portions(number, reading.volume_ml) if number not in gone else ():
            sums[key] += volume
    return sums


def _remainder(one: Material, remains: Remains, given: Decimal) -> Remainder:
    """Return what is destroyed: all that was not given; of a vial that serves again only what was drawn."""
    stays = one.lot.product.is_multi_dose and one.container not in remains.spoiled
    full = remains.holds[one.container]
    drawn = remains.gone().get(one.container, Decimal(0))
    waste = (drawn if stays else full) - given
    return Remainder(
        one.container, one.lot.product.name, one.lot.number, full, given, max(Decimal(0), waste), stays
    )


def last_account(preparation: Preparation) -> Entry | None:
    """Return the entry that accounted for it last."""
    return preparation.entries.filter(act=ACT).select_related("person").last()


def unaccounted(preparation: Preparation) -> Iterator[Remainder]:
    """Yield what is to be destroyed and no entry, as things stand now, accounts for."""
    left = [one for one in remainders(preparation) if one.waste]
    entry = last_account(preparation) if left else None
    try:
        told = json.loads(entry.text)["facts"]["reckoned"] if entry else {}
    except (ValueError, KeyError, TypeError):  # an entry that was tampered with: the gate says so
        told = {}
    yield from (one for one in left if told.get(one.container) != one.written)


def awaiting(preparations: QuerySet[Preparation]) -> list[Preparation]:
    """Return discarded work whose waste is not accounted for: it is no link of the site's chain yet."""
    discarded = preparations.filter(
        state=Preparation.State.DISCARDED, closing=None, materials__lot__product__is_controlled=True
    )
    return [one for one in discarded.distinct() if any(unaccounted(one))]
