"""What went wrong, what it cost, and which further container took whose place."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from checklists.models.holds import Hold
from checklists.models.preparations import Preparation, Step


class Mishap(models.Model):
    """Something that went wrong: the reason's code, what it was about, and what followed."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="mishaps")
    step = models.ForeignKey(Step, null=True, on_delete=models.PROTECT, related_name="mishaps")
    code = models.CharField(max_length=40)
    about = models.CharField(max_length=40, blank=True)
    consequence = models.CharField(max_length=40)
    hold = models.OneToOneField(Hold, null=True, on_delete=models.PROTECT, related_name="mishap")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        """Oldest first; found by their reason."""

        ordering: ClassVar = ["at", "pk"]
        indexes: ClassVar = [models.Index(fields=["code", "at"])]

    def __str__(self) -> str:
        """Return the reason and what it was about."""
        return f"{self.code} {self.about}".strip()


class Waste(models.Model):
    """What was drawn and is lost, or was destroyed with its container (`draw` empty). In mL."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="waste")
    mishap = models.ForeignKey(Mishap, on_delete=models.PROTECT, related_name="waste")
    container = models.CharField(max_length=40)
    draw = models.PositiveSmallIntegerField(null=True)
    attempt = models.PositiveSmallIntegerField(null=True)
    volume_ml = models.DecimalField(max_digits=12, decimal_places=6)

    class Meta:
        """In the order in which it was lost."""

        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        """Return how much of which container."""
        return f"{self.volume_ml} mL of {self.container}"


class Serving(models.Model):
    """A draw takes a further container (`served_by`) in the place of the worksheet's. The last one counts."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="servings")
    mishap = models.ForeignKey(Mishap, on_delete=models.PROTECT, related_name="servings")
    draw = models.PositiveSmallIntegerField()
    container = models.CharField(max_length=40)
    served_by = models.CharField(max_length=40)

    class Meta:
        """In the order in which they were decided."""

        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        """Return which draw takes what."""
        return f"draw {self.draw}: {self.served_by} for {self.container}"
