"""A reason that cannot be said now, or without saying what it is about."""

from __future__ import annotations

from checklists.refusals.bench import AtTheBench


class NoSuchReason(AtTheBench):
    """A reason that is not in the table, or that this step does not have."""

    wording = "That is not one of the reasons at this step. Choose one of those shown, or write your own."


class NotSaidWhich(AtTheBench):
    """A reason about a syringe or a container, without which."""

    wording = "Say which one it is: {choices}."


class LabelOutdated(AtTheBench):
    """A label printed before a further container shortened the beyond-use time."""

    wording = (
        "This label still has the old beyond-use time: a container gathered since ends earlier. Destroy it, "
        "press “Something is wrong”, and have it printed again."
    )
