"""Substitution: which other products of the same substance are in stock for an order, and which was chosen.

A chosen product is reckoned with anew: in the worksheet that is frozen when the order is opened next.
"""

from __future__ import annotations

from datetime import datetime

from compounding.formulary import stock
from compounding.formulary.models import Order, Product, ProductChoice
from compounding.formulary.refusals import NotEquivalent, OrderClosed
from compounding.formulary.worksheets import for_order
from compounding.reckoning.worksheet import Worksheet


def equivalents(order: Order, at: datetime) -> tuple[Product, ...]:
    """Return every product in stock that the formulation allows for a substance of the order."""
    parts = [dose.ingredient for dose in order.doses.select_related("ingredient__substance")]
    allowed = {product.pk: product for part in parts for product in stock.allowed(part)}
    usable = [product for product in allowed.values() if stock.held(product, at)]
    return tuple(sorted(usable, key=lambda product: (product.name, product.gtin)))


def choose(order: Order, gtin: str, *, reason: str, by: str, at: datetime, key: str) -> Worksheet:
    """Have a product taken for an order, and return the worksheet it would have now.

    Refuses OrderClosed, NotEquivalent, NothingInStock, and whatever reckoning refuses of that product.
    """
    if order.state != "active":
        raise OrderClosed(number=order.number, state=order.state, reason=order.reason)
    product = next((one for one in equivalents(order, at) if one.gtin == gtin), None)
    if product is None:
        raise NotEquivalent()
    ProductChoice.objects.create(order=order, product=product, reason=reason, by=by[:80], at=at, key=key)
    return for_order(order, started_at=at)
