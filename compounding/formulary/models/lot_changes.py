"""What happened to a lot since it came in: nothing is overwritten, the last row says what it is now."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from compounding.formulary.models.products import Lot, LotState


class LotChange(models.Model):
    """One act on a lot: received, held back, freed or recalled; by whom, when and why."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="changes")
    state = models.CharField(max_length=12, choices=LotState.choices)
    reason = models.CharField(max_length=300, blank=True)
    by = models.CharField(max_length=80)
    at = models.DateTimeField()
    key = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering: ClassVar = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.lot}: {self.get_state_display()}"
