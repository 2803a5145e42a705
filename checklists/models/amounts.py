"""The amounts obtained apart: recalculated, drawn, seen; and who has been shown them. Volumes are in mL."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from checklists.models.preparations import Preparation


class Recalculation(models.Model):
    """First check: a transfer's volume as a pharmacist worked it out from the order."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="recalculations")
    transfer = models.PositiveSmallIntegerField()
    attempt = models.PositiveSmallIntegerField()
    volume_ml = models.DecimalField(max_digits=12, decimal_places=6)
    agrees = models.BooleanField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        """One answer a transfer and attempt."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["preparation", "transfer", "attempt"], name="one_recalculation_an_attempt"
            )
        ]

    def __str__(self) -> str:
        """Return the transfer and attempt."""
        return f"transfer {self.transfer}, attempt {self.attempt}"


class Reading(models.Model):
    """What the technician declares to have drawn."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="readings")
    draw = models.PositiveSmallIntegerField()
    attempt = models.PositiveSmallIntegerField()
    volume_ml = models.DecimalField(max_digits=12, decimal_places=6)
    is_at_mark = models.BooleanField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        """One reading a draw and attempt."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["preparation", "draw", "attempt"], name="one_reading_an_attempt")
        ]

    def __str__(self) -> str:
        """Return the draw and attempt."""
        return f"draw {self.draw}, attempt {self.attempt}"


class Sighting(models.Model):
    """What the checker read off the syringe, typed without sight of the other amounts."""

    reading = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="sightings")
    step = models.ForeignKey("checklists.Step", on_delete=models.PROTECT, related_name="sightings")
    volume_ml = models.DecimalField(max_digits=12, decimal_places=6)
    agrees = models.BooleanField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        """One sighting of a reading at a step."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["reading", "step"], name="one_sighting_of_a_reading_at_a_step")
        ]
        indexes: ClassVar = [
            models.Index(fields=["at"], condition=models.Q(agrees=False), name="sightings_that_differ")
        ]

    def __str__(self) -> str:
        """Return the reading that was seen."""
        return f"{self.reading}, seen"


class Disclosure(models.Model):
    """Somebody was shown the amounts of a draw, and so can no longer read it blind."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="disclosures")
    draw = models.PositiveSmallIntegerField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        """Once a person and draw."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["preparation", "draw", "person"], name="one_disclosure_a_draw_and_person"
            )
        ]

    def __str__(self) -> str:
        """Return who saw what."""
        return f"draw {self.draw} shown to {self.person}"
