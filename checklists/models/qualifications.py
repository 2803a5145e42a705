"""What a person must have shown to be able to do, and when they showed it.

Anything else that qualifies people – training, a test, an observed procedure – is one more kind here.
"""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models


class QualificationKind(models.Model):
    """One thing to be shown again and again. Without a standing one nobody of the role enters a hood."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=12, default="technician")
    months = models.PositiveSmallIntegerField(
        "good for months", validators=[MinValueValidator(1), MaxValueValidator(60)]
    )
    only_hazardous = models.BooleanField("asked for hazardous work only", default=False)
    is_asked = models.BooleanField("asked at the hood", default=True)
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        """By name."""

        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        """Return the name."""
        return self.name


class Qualification(models.Model):
    """One result of one person. The latest of a kind counts; a test that was not passed counts too."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="qualifications"
    )
    kind = models.ForeignKey(QualificationKind, on_delete=models.PROTECT, related_name="results")
    on = models.DateField()
    has_passed = models.BooleanField()
    #: The last day on which it stands; empty where it was not passed.
    until = models.DateField(null=True)
    result = models.CharField(max_length=300, blank=True)
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    key = models.CharField(max_length=64, unique=True)

    class Meta:
        """In the order in which they were recorded."""

        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="what_was_passed_stands_until_a_day",
                condition=models.Q(has_passed=True, until__isnull=False)
                | models.Q(has_passed=False, until__isnull=True),
            )
        ]

    def __str__(self) -> str:
        """Return whose and what."""
        return f"{self.person}: {self.kind}"
