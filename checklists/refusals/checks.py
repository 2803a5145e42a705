"""A check or a hold that cannot be taken or resolved as it stands, and a PIN that is not right."""

from __future__ import annotations

from collections.abc import Mapping

from compounding.reckoning.refusals import Refusal


class AtACheck(Refusal):
    """A check that cannot be taken as it stands."""


class NotIndependent(AtACheck):
    """Nobody checks their own work."""

    wording = "{name} made a part of this preparation. A pharmacist who made no part of it checks it."


class Disclosed(AtACheck):
    """A reading by somebody who knows the amounts."""

    wording = "{name} has seen the amounts of this draw. Another pharmacist reads it."


class HasRead(Disclosed):
    """A second reading by the same person."""

    wording = "{name} has read this draw already. Another pharmacist reads it now."


class ReckonedAmountsShown(AtACheck):
    """A first check by somebody who was shown what the worksheet reckons."""

    wording = "{name} has been shown the amounts of the worksheet. Another pharmacist takes the first check."


class NothingWaits(AtACheck):
    """A preparation that was scanned, at which no pharmacist has anything to do now."""

    wording = "{code} waits for no pharmacist now: it has come to “{where}”."


class NotDrawnYet(AtACheck):
    """A reading of a syringe that is not drawn."""

    wording = "This syringe is not drawn yet. Wait until the technician shows it."


class SeenAlready(AtACheck):
    """A second reading at the same step."""

    wording = "This syringe was read already; what was typed first stands. Go on with the next."


class MaterialsNotSeen(AtACheck):
    """A first check without a look at the materials."""

    wording = "Look at the materials, and say that you have seen them."


class NotInspected(AtACheck):
    """A final check with a statement left out."""

    wording = "Each line is inspected and marked on its own. Mark them all, or refuse with a reason."


class ChecksByField(AtACheck):
    """Several typed volumes, each with its own sentence."""

    wording = "Some amounts cannot be read. Each says what to write."

    def __init__(self, by_field: Mapping[str, str]) -> None:
        """Keep the sentence of every field."""
        self.by_field = dict(by_field)
        super().__init__()


class CautionsWithoutReason(ChecksByField):
    """Cautions of the worksheet that nobody has given a reason for, each with its own sentence."""

    wording = "A caution still needs its reason. Write it beneath the caution, or refuse the check."


class AtAHold(Refusal):
    """A hold that cannot be resolved so."""


class NoSuchHold(AtAHold):
    """A hold that is resolved already."""

    wording = "This hold is resolved already. Go back to the list."


class NotAResolution(AtAHold):
    """A way out that this cause does not have."""

    wording = "“{cause}” is not resolved that way. Choose one of the ways shown."


class WrongPin(Refusal):
    """A PIN that is not the person's own."""

    wording = "The PIN is not right. Nothing was signed; type it again."


class NoSuchEntry(AtACheck):
    """An amendment of entry `number`, which the record does not have."""

    wording = "The record has no entry {number}. Write the number of the entry that you set right."


class StillBlind(AtACheck):
    """A paper with the amounts, while syringes are still to be read."""

    wording = "This paper holds the amounts. It opens once every syringe has been read."
