"""The work is not open to this person now: whose it is, and what to do."""

from __future__ import annotations

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


class ClockWentBack(AtTheBench):
    """The server's clock stands before the last entry of the record, made at `last`."""

    wording = (
        "The server's clock is wrong: it stands before the last entry of this record ({last}). Nothing was "
        "saved. Have the clock set right, then press again."
    )


class ClockJumped(AtTheBench):
    """A clock that leapt forward, or a server that slept."""

    wording = (
        "The server's clock went forward by {by} at once and says {now}. Compare it with the clock on the "
        "wall: if it is right, press again; if not, have it set right first. Nothing was saved."
    )


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


class NotThisUnit(AtTheBench):
    """A unit of a counted step that is not the one to do now."""

    wording = "Unit {due} is the one to do now, not {asked}. Nothing was counted; go on with unit {due}."


class NotAStepOfYours(AtTheBench):
    """A step that finishes by somebody else's act."""

    wording = "A pharmacist finishes this step."


class NotInTheHood(AtTheBench):
    """Hands said to have left the hood at a step that is not done in one."""

    wording = "At this step your hands are not in the hood. Nothing was changed; go on with the step shown."


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


class ByPlunger(AtTheBench):
    """A draw declared at the mark where policy asks for the number it stands at."""

    wording = "This draw is not declared by one press. Move the drawn plunger to where yours stands."


class MoreThanSyringe(AtTheBench):
    """A volume that cannot be in that syringe."""

    wording = "{typed} is more than fits ({most}). Read again and write the number of mL."


class NothingToPlan(AtTheBench):
    """A run plan without an order."""

    wording = "No order waits, so there is nothing to plan. Come back when orders are entered."
