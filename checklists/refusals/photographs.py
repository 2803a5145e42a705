"""A photograph that cannot be taken, kept or shown."""

from __future__ import annotations

from checklists.refusals.bench import AtTheBench
from compounding.reckoning.refusals import Refusal


class AtAPhotograph(Refusal):
    """A photograph that cannot be taken as it was sent."""


class NoPicture(AtAPhotograph):
    """Nothing was sent."""

    wording = "No picture came with it. Take one with the camera, or choose a picture file, then send it."


class PictureTooHeavy(AtAPhotograph):
    """More bytes than are taken."""

    wording = (
        "The picture is heavier than {most}. Take it with the camera on this page, which makes it smaller."
    )


class NotAPicture(AtAPhotograph):
    """No picture of a kind that is read here, or one that is broken."""

    wording = "This is no picture that can be read here. Send a JPEG, PNG or WebP file, or use the camera."


class PictureTooLarge(AtAPhotograph):
    """More pixels than are unpacked."""

    wording = "The picture has {pixels} pixels, more than {most}. Take it again with a smaller setting."


class PictureTooSmall(AtAPhotograph):
    """Too few pixels for a scale to be read."""

    wording = (
        "The picture has only {pixels} pixels; no scale can be read on it. Each side needs at least {least}."
    )


class NoSuchPhotograph(AtTheBench):
    """A photograph that is not there, or not for this person."""

    wording = "There is no such photograph here. Go back to the list."


class PhotographWanted(AtTheBench):
    """A site that wants every draw photographed."""

    wording = (
        "This site keeps a photograph of every draw. Ask the technician to take one, or to show it in person."
    )
