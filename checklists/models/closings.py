"""The site's own chain: one link for each preparation that ended, bound to the link before it."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from checklists.models.preparations import Preparation


class Closing(models.Model):
    """A preparation ended. `text` is canonical: its code, how it ended, how many entries, their last."""

    number = models.PositiveIntegerField(unique=True)
    preparation = models.OneToOneField(Preparation, on_delete=models.PROTECT, related_name="closing")
    text = models.TextField()
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    class Meta:
        """In the order in which they ended."""

        ordering: ClassVar = ["number"]

    def __str__(self) -> str:
        """Return the number and the preparation."""
        return f"{self.number} {self.preparation}"
