"""A preparation, its steps, what went into it and its labels."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from compounding.formulary.models import Lot, Order


class Preparation(models.Model):
    """One order on its way to a released product. `worksheet` is frozen at opening."""

    class State(models.TextChoices):
        """Where a preparation is. A hold is apart from it: work in any state can be on hold.

        What was done on paper never was in any other state here, and is no timing.
        """

        IN_WORK = "in-work", "in work"
        PAUSED = "paused", "paused"
        HANDED_OVER = "handed-over", "handed over"
        RELEASED = "released", "released"
        DISCARDED = "discarded", "discarded"
        ON_PAPER = "on-paper", "released on paper, entered afterwards"

    code = models.CharField(max_length=12, unique=True)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="preparations")
    worksheet = models.JSONField(encoder=DjangoJSONEncoder)
    state = models.CharField(max_length=12, choices=State, default=State.IN_WORK)
    technician = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="made")
    hood = models.ForeignKey(
        "checklists.Hood", null=True, on_delete=models.PROTECT, related_name="occupied_by"
    )
    made_in = models.ForeignKey(
        "checklists.Hood", null=True, on_delete=models.PROTECT, related_name="made_here"
    )
    opened_at = models.DateTimeField()
    beyond_use_at = models.DateTimeField()
    handed_over_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=0)
    #: The device that has its step open, since when, and the one that had it before.
    open_on = models.CharField(max_length=32, blank=True)
    open_since = models.DateTimeField(null=True)
    open_before_on = models.CharField(max_length=32, blank=True)

    class Meta:
        """One open preparation per technician, per hood and per order: held by the database."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["technician"],
                condition=models.Q(state="in-work"),
                name="one_open_preparation_per_technician",
            ),
            models.UniqueConstraint(fields=["hood"], name="one_preparation_in_a_hood"),
            models.UniqueConstraint(
                fields=["order"], condition=~models.Q(state="discarded"), name="one_preparation_of_an_order"
            ),
        ]
        indexes: ClassVar = [
            # the state first: SQLite takes an equal column before a range, and one index serves both
            models.Index(fields=["state", "ended_at"], name="preparations_by_state"),
            models.Index(fields=["technician", "state"], name="preparations_of_somebody"),
            models.Index(fields=["opened_at", "state"], name="preparations_by_opening"),
        ]

    def __str__(self) -> str:
        """Return the code."""
        return self.code


class Step(models.Model):
    """One step of a preparation. `place` orders them; gaps leave room for steps put in later."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="steps")
    place = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=40)
    about = models.JSONField(default=dict)
    started_at = models.DateTimeField(null=True)
    taken_at = models.DateTimeField(null=True)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="taken_steps"
    )
    finished_at = models.DateTimeField(null=True)
    finished_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="finished_steps"
    )
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        """In the order of the work."""

        ordering: ClassVar = ["place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["preparation", "place"], name="one_step_at_a_place")
        ]
        indexes: ClassVar = [
            models.Index(fields=["kind", "finished_at"]),
            models.Index(fields=["finished_at"], name="steps_by_end"),
        ]

    def __str__(self) -> str:
        """Return the kind and place."""
        return f"{self.kind} at {self.place}"


class Material(models.Model):
    """A container that was scanned: which lot stands at which place of the worksheet."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="materials")
    container = models.CharField(max_length=40)
    #: The worksheet's container whose place a further one takes; empty for the worksheet's own.
    stands_for = models.CharField(max_length=40, blank=True)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="used_in")
    serial = models.CharField(max_length=20, blank=True)
    opened = models.ForeignKey(
        "checklists.OpenedContainer", null=True, on_delete=models.PROTECT, related_name="taken_again"
    )
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        """One lot a container."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["preparation", "container"], name="a_container_is_scanned_once")
        ]

    def __str__(self) -> str:
        """Return the container and its lot."""
        return f"{self.container}: {self.lot}"


class Label(models.Model):
    """One printed label. A later print of the same unit makes the earlier one void."""

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="labels")
    code = models.CharField(max_length=12, unique=True)
    unit = models.PositiveSmallIntegerField()
    print_number = models.PositiveSmallIntegerField()
    reason = models.CharField(max_length=300, blank=True)
    #: Its lines as they were printed.
    words = models.JSONField(default=list)
    printed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    printed_at = models.DateTimeField()
    scanned_back_at = models.DateTimeField(null=True)

    class Meta:
        """One label a unit and print."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["preparation", "unit", "print_number"], name="one_label_per_unit_and_print"
            )
        ]

    def __str__(self) -> str:
        """Return the code."""
        return self.code
