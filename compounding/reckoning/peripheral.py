"""The osmolarity of one unit that is given into a small vein, beside the policy's limit.

Only where all of it is known: a label's printed figure, or a substance of the list. What is not known is left
out; then nothing is worked out and nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from compounding.reckoning.admixing import Admixture
from compounding.reckoning.mixture import ReckonedIngredient
from compounding.reckoning.osmolarity import Osmolarity, Part, Solute, osmolarity_of
from compounding.reckoning.quantities import Kind, Quantity, kind_of, number_in, of, write
from compounding.reckoning.request import Request, Vehicle
from compounding.reckoning.substances import SUBSTANCES
from compounding.reckoning.worksheet import Caution, Line

LABEL = "label"


def osmolarity_in(
    request: Request, ingredients: tuple[ReckonedIngredient, ...], mixed: Admixture
) -> Osmolarity | None:
    """Return the osmolarity on the labelled volume; None for a central vein or where something is unknown.

    The bag's overfill is not counted: it would thin what is strong. Raises as `osmolarity_of` does.
    """
    if not request.peripheral:
        return None
    parts = [_drug(one) for one in ingredients]
    added = sum((number_in(one.volume, "mL") for one in ingredients), Decimal(0))
    diluent = number_in(mixed.labelled, "mL") - added
    if diluent > 0:
        parts.append(_diluent(request.vehicle, of(diluent, "mL")))
    known = tuple(part for part in parts if part is not None)
    if len(known) < len(parts):
        return None
    found = osmolarity_of(known)
    lines = tuple(Line(_about(line.about), line.text) for line in found.lines)
    return replace(found, lines=lines)


def too_osmotic(found: Osmolarity | None, limit: Quantity) -> Iterator[Caution]:
    """Yield a caution for an osmolarity above the limit, not the figure: a volume would follow from it."""
    if found is not None and number_in(found.osmolarity, "mOsmol/L") > number_in(limit, "mOsmol/L"):
        text = f"The osmolarity is above {write(limit)}, the limit for a peripheral vein."
        yield Caution("osmolarity-above-limit", text)


def _drug(one: ReckonedIngredient) -> Part | None:
    """Return what a drug brings: its label's figure, else its particles, None where neither is known."""
    product, name = one.ordered.product, one.ordered.written
    if product.osmolarity is not None:
        return Part(name, one.volume, printed=product.osmolarity, source=LABEL)
    substance = SUBSTANCES.get(one.ordered.substance)
    if substance is None or kind_of(one.content) not in (Kind.MASS, Kind.AMOUNT, Kind.EQUIVALENT):
        return None
    if kind_of(one.content) is Kind.EQUIVALENT and not substance.ions:
        return None
    ion = substance.ions[0].name if substance.ions else ""
    return Part(name, one.volume, (Solute(substance, one.content, ion),))


def _diluent(vehicle: Vehicle | None, volume: Quantity) -> Part | None:
    if vehicle is None or vehicle.osmolarity is None:
        return None
    return Part(vehicle.contents, volume, printed=vehicle.osmolarity, source=LABEL)


def _about(what: str) -> str:
    return what if what == "osmolarity" else f"{what} osmolarity"
