"""Each unit of a counted step as it was done, and units that were lost. Only `checklists.run` writes them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from checklists.models.entries import Entry
from checklists.models.preparations import Preparation, Step


class Stamp(models.Model):
    """One unit of a counted step, done. `entry` is the act in the record; the rest repeats it for queries."""

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="stamps")
    unit = models.PositiveSmallIntegerField()
    facts = models.JSONField(encoder=DjangoJSONEncoder, default=dict)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="stamp")

    class Meta:
        """In the order they were done; a unit is counted once a step."""

        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["step", "unit"], name="a_unit_is_counted_once_a_step")
        ]

    def __str__(self) -> str:
        """Return the step and the unit."""
        return f"{self.step}, unit {self.unit}"


class Rejection(models.Model):
    """A unit of a batch that was lost or spoiled: the batch goes on without it, its labels are void."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="rejections")
    unit = models.PositiveSmallIntegerField()
    reason = models.CharField(max_length=300)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="rejection")

    class Meta:
        """By unit; a unit is rejected once."""

        ordering: ClassVar = ["unit"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["preparation", "unit"], name="a_unit_is_rejected_once")
        ]

    def __str__(self) -> str:
        """Return the unit and the reason."""
        return f"unit {self.unit}: {self.reason}"
