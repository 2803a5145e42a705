"""Containers that were opened: since when, until when, and how much is left in them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from checklists.models.people import Hood
from checklists.models.preparations import Preparation
from compounding.formulary.models import Lot


class OpenedContainer(models.Model):
    """One vial or ampoule from its first puncture to the waste. Its code stands on the label it then gets."""

    code = models.CharField(max_length=12, unique=True)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="opened")
    serial = models.CharField(max_length=20, blank=True)
    #: The container as it was gathered by the preparation that opened it; what serves again names it back.
    first = models.OneToOneField("checklists.Material", on_delete=models.PROTECT, related_name="opening")
    opened_for = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="opened")
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    hood = models.ForeignKey(Hood, null=True, on_delete=models.PROTECT, related_name="opened")
    use_ends_at = models.DateTimeField()
    left_ml = models.DecimalField(max_digits=12, decimal_places=6)
    discarded_at = models.DateTimeField(null=True)
    discarded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        """First to end first."""

        ordering: ClassVar = ["use_ends_at", "pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(left_ml__gte=0), name="no_container_holds_less_than_nothing"
            ),
            models.UniqueConstraint(
                fields=["lot", "serial"], condition=~models.Q(serial=""), name="a_serial_is_opened_once"
            ),
        ]

    def __str__(self) -> str:
        """Return the code and the lot."""
        return f"{self.code}: {self.lot}"
