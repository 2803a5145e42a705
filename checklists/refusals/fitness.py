"""Somebody or something is not fit to work, or what was recorded of it cannot be taken."""

from __future__ import annotations

from compounding.reckoning.refusals import Refusal


class NotFit(Refusal):
    """Somebody is not fit to work, or a result or duty cannot be taken as it was sent."""


class NotQualified(NotFit):
    """A technician without a standing qualification comes to a hood. Facts: name, why."""

    wording = (
        "{name} may not work in a hood: {why}. Put the work aside and let a qualified technician take it up; "
        "a supervisor records a test that was passed."
    )


class NoSuchDay(NotFit):
    """A day that cannot be read, or lies ahead. Facts: typed."""

    wording = "“{typed}” is not a day that has been. Write it as year-month-day: 2026-11-25."


class NotQualifying(NotFit):
    """A result for somebody or something that is none. Facts: none."""

    wording = "Choose a person, and a qualification that is asked of their role."


class NotANumberRead(NotFit):
    """A reading that is no plain number. Facts: typed, unit."""

    wording = "“{typed}” is not a number in {unit}. Write what the instrument shows, such as 4.5 or -18."


class NothingTicked(NotFit):
    """Tasks that were left out, without a note why. Facts: missing."""

    wording = "Not ticked: {missing}. Tick what was done; for what was not done, note why."


class OutsideLimits(NotFit):
    """A reading outside its limits, without a note of what was done. Facts: typed, limits."""

    wording = "{typed} is outside {limits}. Note what was done about it, and whom you told."
