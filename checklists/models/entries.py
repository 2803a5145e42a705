"""The record: one entry an act, each bound to the entry before it."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from checklists.models.preparations import Preparation


class Entry(models.Model):
    """One act. `text` is canonical and holds everything; other fields repeat parts of it for queries."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="entries")
    number = models.PositiveIntegerField()
    act = models.CharField(max_length=40)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    key = models.CharField(max_length=64)
    text = models.TextField()
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    class Meta:
        """Numbered from 1 without a gap; a key is used once."""

        ordering: ClassVar = ["number"]
        verbose_name_plural = "entries"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["preparation", "number"], name="entries_are_numbered"),
            models.UniqueConstraint(fields=["preparation", "key"], name="an_act_is_done_once"),
        ]

    def __str__(self) -> str:
        """Return the number and act."""
        return f"{self.number} {self.act}"
