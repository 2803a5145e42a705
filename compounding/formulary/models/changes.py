"""Why something of the formulary was changed: a row each time, never changed itself."""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class FormularyChange(models.Model):
    """One change on the upkeep pages: what, which fields of it, by whom, when, and why."""

    what = models.CharField(max_length=200)
    fields = models.CharField(max_length=500, blank=True)
    why = models.CharField(max_length=300)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    class Meta:
        """Latest first."""

        ordering: ClassVar = ["-at", "-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(name="formulary_change_says_why", condition=~models.Q(why="")),
        ]

    def __str__(self) -> str:
        """Return what was changed and why."""
        return f"{self.what}: {self.why}"
