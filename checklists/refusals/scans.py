"""The wrong hood, label or container was scanned."""

from __future__ import annotations

from compounding.reckoning.refusals import Refusal


class AtAScan(Refusal):
    """The wrong hood, label or container."""


class SameContainerTwice(AtAScan):
    """One container scanned for two."""

    wording = "The container with serial {serial} was scanned already. Scan the next one."


class ScannedAMomentAgo(AtAScan):
    """The very same code again, at once: one container held too long, or really another."""

    wording = "This code was scanned a moment ago. Is this another container? Then scan it again now."


class HeldByAnother(AtAScan):
    """A container that stands at somebody else's work."""

    wording = "The container with serial {serial} is gathered for {code}. Leave it there and take another."


class UsedForAnother(AtAScan):
    """A container that serves one patient only was opened for another."""

    wording = (
        "This {product} was opened for {code}, and one such container serves one preparation only. "
        "Put it to the waste and take a new one."
    )


class DissolvedNoMore(AtAScan):
    """A vial that was dissolved for another preparation, which does not vouch for it."""

    wording = (
        "This {product} was dissolved for {code} and cannot serve here: {why} Put it aside; take a new one."
    )


class NoSuchContainer(AtAScan):
    """An opened container's code that none has."""

    wording = "{code} is no opened container's. Scan the label on the container itself."


class OpenedTooLong(AtAScan):
    """An opened container is past its in-use time."""

    wording = (
        "This {product} was opened {opened}; its use ended {ended}. Put it to the waste and take another."
    )


class ContainerDiscarded(AtAScan):
    """An opened container that was declared discarded."""

    wording = "This {product} was put to the waste {discarded}. Do not use it; take another."


class NotEnoughLeft(AtAScan):
    """An opened container holds less than is drawn from it."""

    wording = "Of this {product} {left} are left; {wanted} are to be drawn from it. Take another."


class NoSuchHood(AtAScan):
    """A hood's code that no hood has."""

    wording = "No hood is named {code}. Scan the badge on the hood itself."


class NotASwitch(AtAScan):
    """Neither on nor off."""

    wording = "Press “on” or “off”. Nothing was changed."


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


class LabelDiffers(AtAScan):
    """A label whose words are not what the worksheet has."""

    wording = (
        "The label says “{printed}”, the worksheet says “{wanted}”. Destroy the label, print it again with "
        "that reason, and put on the new one."
    )


class LabelIsVoid(AtAScan):
    """A label that a later print replaced."""

    wording = "This is print {number}, which a later one replaced. Destroy it and put on the last print."
