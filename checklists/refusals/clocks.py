"""A clock has run out, and nothing at the hood mends it."""

from __future__ import annotations

from compounding.reckoning.refusals import Refusal


class TimeIsOver(Refusal):
    """A clock has run out, and nothing at the hood mends it."""


class ContainerOver(TimeIsOver):
    """A draw from a container that has been open for too long. Facts: container, opened."""

    wording = (
        "{container} was opened at {opened}, and its time is over. Nothing more is drawn from it: press "
        "“Something is wrong” to have it replaced."
    )


class InProcessOver(TimeIsOver):
    """Work that has been under way for too long since the first draw. Facts: since, hours."""

    wording = (
        "The first draw was at {since}, more than {hours} h ago. Nothing more is drawn or added: press "
        "“Something is wrong”, so that a pharmacist decides, or give it up."
    )


class BeyondUseOver(TimeIsOver):
    """Work on what can no longer be released."""

    wording = (
        "Its beyond-use time is over; it can never be released. Press “Something is wrong” and give it up."
    )
