"""A hold: the work stops until a pharmacist resolves it with a reason."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from checklists.models.preparations import Preparation, Step


class Hold(models.Model):
    """Why the work stopped, and how it went on. `draws` names the draws that a difference is about."""

    class Cause(models.TextChoices):
        """Why the work stopped."""

        AMOUNTS_DIFFER = "amounts-differ", "the amounts of a draw differ"
        CANNOT_READ = "cannot-read", "the checker cannot read the syringe"
        RECALCULATION_DIFFERS = "recalculation-differs", "the first check differs"
        CHECK_REFUSED = "check-refused", "a pharmacist refused a check"
        SOMETHING_WRONG = "something-wrong", "something is wrong"
        ORDER_CHANGED = "order-changed", "the order was changed"
        ORDER_CANCELLED = "order-cancelled", "the order was cancelled"
        LOT_RECALLED = "lot-recalled", "a lot in it was recalled"
        KEPT_REFUSED = "kept-refused", "a step done without network was refused"

    class Resolution(models.TextChoices):
        """How a pharmacist lets the work go on, or ends it. A difference is never accepted."""

        DRAW_AGAIN = "draw-again", "draw again"
        READ_AGAIN = "read-again", "read again by another checker"
        CHECK_AGAIN = "check-again", "check again"
        CARRY_ON = "carry-on", "carry on"
        REJECT = "reject", "reject those units"
        DISCARD = "discard", "discard"

    preparation = models.ForeignKey(Preparation, on_delete=models.PROTECT, related_name="holds")
    step = models.ForeignKey(Step, null=True, on_delete=models.PROTECT, related_name="holds")
    cause = models.CharField(max_length=30, choices=Cause)
    note = models.CharField(max_length=500, blank=True)
    draws = models.JSONField(default=list)
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    opened_at = models.DateTimeField()
    resolution = models.CharField(max_length=20, choices=Resolution, blank=True)
    reason = models.CharField(max_length=500, blank=True)
    resolved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    resolved_at = models.DateTimeField(null=True)

    class Meta:
        """Oldest first."""

        ordering: ClassVar = ["opened_at", "pk"]
        indexes: ClassVar = [models.Index(fields=["opened_at"], name="holds_by_opening")]

    def __str__(self) -> str:
        """Return the cause."""
        return self.get_cause_display()
