"""Who stands garbed since when: a session's garbing ends when its wearer leaves."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models


class Garbing(models.Model):
    """One garbing, from gloves put on to its end. The program sees only the ends that it is told of."""

    class Ending(models.TextChoices):
        """What ended it."""

        PAUSED = "paused", "the work was put aside"
        GIVEN_UP = "given-up", "the work was given up"
        SIGNED_OUT = "signed-out", "its wearer signed out"
        ANOTHER = "another", "garbed anew"

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="garbings")
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_by = models.CharField(max_length=12, choices=Ending, blank=True)

    class Meta:
        """One that has not ended a person."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person"], condition=models.Q(ended_at=None), name="one_garbing_stands_a_person"
            )
        ]

    def __str__(self) -> str:
        """Return who and when."""
        return f"{self.person} at {self.at}"
