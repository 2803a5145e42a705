"""A unit of a batch that is none, and a batch that does not add up."""

from __future__ import annotations

from compounding.reckoning.refusals import Refusal


class AtABatch(Refusal):
    """A batch that cannot go on as it was said."""


class NoSuchUnit(AtABatch):
    """A unit that the batch does not have, or no longer."""

    wording = "That is no unit of this batch that could be rejected. Choose one of {units}."


class LastUnit(AtABatch):
    """A rejection that would leave nothing."""

    wording = "Nothing would be left of the batch. Give the work up instead; the order goes back to the list."


class NotCounted(AtABatch):
    """A count that was not written."""

    wording = "Count them, and write each count as a whole number, such as 12 or 0."


class DoesNotAddUp(AtABatch):
    """A batch that is not accounted for."""

    wording = "It does not add up. {what} Count again, or reject the unit that is missing."


class LabelOfRejected(AtABatch):
    """A label whose unit was rejected."""

    wording = "Unit {unit} was rejected, so this label is void. Destroy it; nothing carries it."
