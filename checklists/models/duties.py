"""What is done regularly so that the rooms are fit to work in: cleaning, temperatures, pressures."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models


class Duty(models.Model):
    """One regular duty: a small checklist, or a number to be read that lies within limits, or both."""

    class Kind(models.TextChoices):
        """What it is about."""

        CLEANING = "cleaning", "cleaning"
        TEMPERATURE = "temperature", "temperature"
        PRESSURE = "pressure", "room pressure"
        OTHER = "other", "other"

    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=12, choices=Kind)
    hood = models.ForeignKey(
        "checklists.Hood", null=True, blank=True, on_delete=models.PROTECT, related_name="duties"
    )
    every_hours = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    tasks = models.TextField(blank=True, help_text="one a line, in the order in which they are done")
    unit = models.CharField(max_length=12, blank=True, help_text="of the number to be read: °C, Pa")
    least = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    most = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    is_active = models.BooleanField(default=True)
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        """By name."""

        ordering: ClassVar = ["name"]
        verbose_name_plural = "duties"
        constraints: ClassVar = [
            models.CheckConstraint(
                name="a_duty_asks_for_something", condition=~models.Q(tasks="") | ~models.Q(unit="")
            ),
        ]

    def __str__(self) -> str:
        """Return the name."""
        return self.name

    @property
    def lines(self) -> tuple[str, ...]:
        """Return its tasks."""
        return tuple(line.strip() for line in self.tasks.splitlines() if line.strip())


class DutyDone(models.Model):
    """A duty done: what was ticked and read, and what was noted where it was not all right."""

    duty = models.ForeignKey(Duty, on_delete=models.PROTECT, related_name="done")
    ticked = models.JSONField(default=list)
    value = models.DecimalField(max_digits=8, decimal_places=2, null=True)
    is_right = models.BooleanField()
    note = models.CharField(max_length=300, blank=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    key = models.CharField(max_length=64, unique=True)

    class Meta:
        """In the order in which they were done."""

        ordering: ClassVar = ["pk"]
        verbose_name_plural = "duties done"
        indexes: ClassVar = [models.Index(fields=["duty", "-at"], name="duties_by_last")]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="what_is_not_right_is_noted", condition=models.Q(is_right=True) | ~models.Q(note="")
            )
        ]

    def __str__(self) -> str:
        """Return what and when."""
        return f"{self.duty} at {self.at}"
