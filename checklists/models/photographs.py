"""Draws shown by photograph, and photographs that a checker could not read."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from checklists.models.preparations import Preparation, Step


class Photograph(models.Model):
    """One photograph of the syringes of a showing. `attempts` says which filling of each draw is on it."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="photographs")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="photographs")
    draws = models.JSONField(default=list)
    attempts = models.JSONField(default=list)
    file = models.CharField(max_length=40, unique=True)
    sha256 = models.CharField(max_length=64)
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        """Oldest first."""

        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        """Return what is on it."""
        return f"draws {', '.join(map(str, self.draws))}"


class Unreadable(models.Model):
    """A checker could not read a photograph, and what they asked for instead."""

    class Wants(models.TextChoices):
        """What is done instead."""

        AGAIN = "again", "a new photograph"
        IN_PERSON = "in-person", "to read it in person"

    photograph = models.OneToOneField(Photograph, on_delete=models.PROTECT, related_name="unreadable")
    wants = models.CharField(max_length=12, choices=Wants)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        """Return what was asked for."""
        return self.get_wants_display()
