"""The daybook: what each past day's times came to, so that no page counts the whole history.

It is made from the record and can be made anew from it at any time; nothing else depends on it.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class DayTally(models.Model):
    """The times of one day, divided one way.

    `times` is `{name: {what: [sum in ms, {step of the tally: how many}]}}` (`checklists.measures.tallies`).
    """

    day = models.DateField()
    by = models.CharField(max_length=12)
    times = models.JSONField(default=dict)

    class Meta:
        """One row a day and way of dividing, found by the way."""

        ordering: ClassVar = ["by", "day"]
        verbose_name_plural = "day tallies"
        constraints: ClassVar = [models.UniqueConstraint(fields=["by", "day"], name="a_day_is_tallied_once")]

    def __str__(self) -> str:
        """Return the day and the way of dividing."""
        return f"{self.day} by {self.by}"
