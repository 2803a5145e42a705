"""What the work refuses, each with its sentence: what is in the way, and what to do.

Refusal
├── AtTheBench    the work is not open to this person now
├── AtAScan       the wrong hood, label or container
├── AtACheck      a check that cannot be taken as it stands
├── AtAHold       a hold that cannot be resolved so
└── NotReleasable the gate, with every reason
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from compounding.reckoning.refusals import Refusal


class AtTheBench(Refusal):
    """The work is not open to this person now."""


class NoSuchPreparation(AtTheBench):
    """A code that is no preparation's."""

    wording = "No preparation is named {code}. Scan its label again, or open it from the list."


class WrongRole(AtTheBench):
    """An act of another role."""

    wording = "This is done by a {wanted}; you are signed in as {role}. Hand over to a {wanted}."


class OrderNotActive(AtTheBench):
    """An order that no longer asks for anything."""

    wording = "Order {number} is {state}; nothing is made from it. Take the next order on the list."


class AlreadyAtWork(AtTheBench):
    """A second preparation while one is open."""

    wording = "You have {title} open ({code}). Hand it over, pause it or give it up first."


class AlreadyBeingMade(AtTheBench):
    """An order that somebody has opened."""

    wording = "This order is being made as {code} by {technician}. Take the next order on the list."


class NotOpen(AtTheBench):
    """A preparation that is paused, handed over or ended."""

    wording = "{code} is {state}; this step cannot be done now. Go back to the list."


class NotYours(AtTheBench):
    """Another technician's preparation."""

    wording = "{code} is {technician}'s work. To take it over, {technician} pauses it first."


class NotPaused(AtTheBench):
    """Work that is neither paused nor ended."""

    wording = "{code} is not paused. Go back to the list to see where it is."


class OnHold(AtTheBench):
    """Nothing goes on while a hold is open."""

    wording = "The work is on hold: {cause}. A pharmacist resolves it before anything else is done."


class OutOfOrder(AtTheBench):
    """A step that the work has not come to, or has left behind."""

    wording = (
        "This step is not the one the work has come to. Nothing was changed; go on with the step shown now."
    )


class NotAStepOfYours(AtTheBench):
    """A step that finishes by somebody else's act."""

    wording = "A pharmacist finishes this step."


class TooEarly(AtTheBench):
    """A dwell that is not over."""

    wording = "{left} seconds are left. Wait until they have passed, or write why you end it early."


class ReasonTooLong(AtTheBench):
    """A reason longer than the record keeps."""

    wording = "The reason is too long. Write it in at most {most} characters."


class NoReason(AtTheBench):
    """A reason that was not written."""

    wording = "Write the reason in a few words; it is kept in the record."


class ReasonNotWords(AtTheBench):
    """A reason with a character that no record can print."""

    wording = "The reason holds a character that cannot be printed. Type it again in plain words."


class LabelNotPrinted(AtTheBench):
    """The label step without a label."""

    wording = "The label is not printed yet. Press “Print”, then finish the step."


class NothingTyped(AtTheBench):
    """An empty keypad."""

    wording = "No amount was typed. Write the number of mL, such as 2.5."


class MoreThanSyringe(AtTheBench):
    """A volume that cannot be in that syringe."""

    wording = "{typed} is more than fits ({most}). Read again and write the number of mL."


class AtAScan(Refusal):
    """The wrong hood, label or container."""


class SameContainerTwice(AtAScan):
    """One container scanned for two."""

    wording = "The container with serial {serial} was scanned already. Scan the next one."


class NoSuchHood(AtAScan):
    """A hood's code that no hood has."""

    wording = "No hood is named {code}. Scan the badge on the hood itself."


class HoodInUse(AtAScan):
    """A hood that holds another preparation."""

    wording = "{hood} holds {code} of {technician}. Use another hood, or wait until it is cleaned up."


class HoodNotForHazardous(AtAScan):
    """Hazardous drugs are never in horizontal flow. Source: USP <800>, memory."""

    wording = "{hood} is not for hazardous drugs. Use the vertical-flow hood kept for them."


class HoodNotCertified(AtAScan):
    """A certificate that has run out."""

    wording = "The certificate of {hood} ended on {until}. Use another hood and tell the supervisor."


class HoodNotWarm(AtAScan):
    """A hood that has not run long enough."""

    wording = "{hood} must run {minutes} minutes before it is used. {ready}"


class NotALabel(AtAScan):
    """A label's code that no label has."""

    wording = "{code} is no label printed here. Scan the label that you have just put on."


class LabelOfAnother(AtAScan):
    """Another preparation's label."""

    wording = "This label belongs to {other}, not to {this}. Take it off, and put on the label of {this}."


class LabelOfAnotherUnit(AtAScan):
    """A label of another unit of the same batch."""

    wording = "This is the label of unit {found}; unit {wanted} is labelled now."


class LabelIsVoid(AtAScan):
    """A label that a later print replaced."""

    wording = "This is print {number}, which a later one replaced. Destroy it and put on the last print."


class AtACheck(Refusal):
    """A check that cannot be taken as it stands."""


class NotIndependent(AtACheck):
    """Nobody checks their own work."""

    wording = "{name} made a part of this preparation. A pharmacist who made no part of it checks it."


class Disclosed(AtACheck):
    """A reading by somebody who knows the amounts."""

    wording = "{name} has seen the amounts of this draw. Another pharmacist reads it."


class ReckonedAmountsShown(AtACheck):
    """A first check by somebody who was shown what the worksheet reckons."""

    wording = "{name} has been shown the amounts of the worksheet. Another pharmacist takes the first check."


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


@dataclass(frozen=True)
class Blocker:
    """One reason why a preparation may not be released."""

    code: str
    sentence: str


class NotReleasable(Refusal):
    """The gate is shut: every reason why not."""

    wording = "It cannot be released: {count} in the way."

    def __init__(self, reasons: Sequence[Blocker]) -> None:
        """Keep every reason."""
        self.reasons = tuple(reasons)
        super().__init__(count="1 thing is" if len(self.reasons) == 1 else f"{len(self.reasons)} things are")


class StillBlind(AtACheck):
    """A paper with the amounts, while syringes are still to be read."""

    wording = "This paper holds the amounts. It opens to a pharmacist once every syringe has been read."
