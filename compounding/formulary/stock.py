"""Which product in stock an ingredient is taken from: least waste, then fewest containers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_CEILING, Decimal

from django.utils import timezone

from compounding.formulary.models import FormulationIngredient, Lot, Product
from compounding.formulary.models.products import LotState
from compounding.formulary.refusals import NothingInStock
from compounding.reckoning import quantities, strengths
from compounding.reckoning.quantities import Quantity


@dataclass(frozen=True)
class Held:
    """A product in stock with its lot that expires first: the one to use, and to date by."""

    product: Product
    first_lot: Lot


def held(product: Product, at: datetime) -> Held | None:
    """Return a product with the usable lot that expires first, None where no lot may be used."""
    usable = product.lots.filter(state=LotState.AVAILABLE, expires_on__gte=_today(at))
    lot = usable.order_by("expires_on", "number").first()
    return Held(product, lot) if lot else None


def needed(product: Product, at: datetime) -> Held:
    """Return that product with its lot. Refuses NothingInStock."""
    found = held(product, at)
    if found is None:
        raise NothingInStock(what=product.name)
    return found


def choice(ingredient: FormulationIngredient, content: Quantity, at: datetime) -> Held:
    """Return what to take for the content of a whole batch. Refuses NothingInStock.

    Waste is compared as content, not volume, so that strengths can be compared with one another.
    """
    usable = [found for found in (held(product, at) for product in allowed(ingredient)) if found]
    if not usable:
        raise NothingInStock(what=ingredient.substance.written)
    return min(usable, key=lambda found: (*_waste_and_count(found.product, content), found.product.gtin))


def strength(product: Product) -> Quantity:
    """Return the strength a product is drawn at; a powder's is its label's, once it is dissolved."""
    return quantities.read(product.strength or product.reconstitution_strength)


def allowed(ingredient: FormulationIngredient) -> Iterable[Product]:
    """Return the products that may serve an ingredient: those its formulation names, or any of it."""
    named = list(ingredient.allowed_products.all())
    return named or ingredient.substance.products.all()


def _waste_and_count(product: Product, content: Quantity) -> tuple[Decimal, int]:
    drawn = quantities.number_in(strengths.volume_of(content, strength(product)).amount, "mL")
    most = quantities.number_in(quantities.read(product.withdrawable), "mL")
    containers = int((drawn / most).to_integral_value(ROUND_CEILING))
    base = strengths.base_of(content)
    opened = strengths.content_of(quantities.of(containers * most, "mL"), strength(product), base).amount
    return quantities.number_in(opened, base) - quantities.number_in(content, base), containers


def _today(at: datetime) -> object:
    return timezone.localdate(at, timezone.get_default_timezone())
