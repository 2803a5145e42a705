"""A product that a pharmacist has taken for one order, in the place of what stock would offer."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from compounding.formulary.models.orders import Order
from compounding.formulary.models.products import Product


class ProductChoice(models.Model):
    """For this order, this product serves its substance; the last choice of a substance counts."""

    order = models.ForeignKey(Order, models.PROTECT, related_name="choices")
    product = models.ForeignKey(Product, models.PROTECT, related_name="choices")
    reason = models.CharField(max_length=300)
    by = models.CharField(max_length=80)
    at = models.DateTimeField()
    key = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.product} for order {self.order}"
