"""The run plan that somebody put up for a shift: in which order, and what is shared."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models


class RunPlan(models.Model):
    """One plan, from being put up to being let go. `rows`: order numbers in turn, each with its note."""

    rows = models.JSONField()
    key = models.CharField(max_length=64, unique=True)
    put_up_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    put_up_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        """The last one last: it is the one that stands, if it has not ended."""

        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        """Return who put it up and when."""
        return f"{self.put_up_by} at {self.put_up_at}"
