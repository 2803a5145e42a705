"""Work done on paper that cannot be entered as it was typed."""

from __future__ import annotations

from collections.abc import Mapping

from compounding.reckoning.refusals import Refusal


class FromPaper(Refusal):
    """Work on paper that is not taken so."""


class PaperFaults(FromPaper):
    """Several fields, each with its own sentence."""

    wording = "It was not entered. What to write instead stands at each field marked below."

    def __init__(self, by_field: Mapping[str, str]) -> None:
        """Keep the sentence of every field."""
        self.by_field = dict(by_field)
        super().__init__()


class SheetOfAnother(FromPaper):
    """A sheet that was printed for another order."""

    wording = "This is the sheet of order {scanned}. Take the sheet of order {wanted}."


class NotAMoment(FromPaper):
    """A time that is none, or not in order."""

    wording = "Write date and time as on the paper: not before the order, not in the future, the end last."


class NobodySaid(FromPaper):
    """A person who was not chosen, or whose part it cannot have been."""

    wording = "Choose who it was: {who}."


class NoSuchLot(FromPaper):
    """A lot number that is not known of this product."""

    wording = "No such lot of {product} is known. Write its number as on the paper, or receive it first."


class PaperReckonsOtherwise(FromPaper):
    """A required amount on paper that is not what the order comes to."""

    wording = (
        "The order comes to {reckoned}, the paper says {typed}. Hold the product back; tell a pharmacist."
    )


class PaperDisagrees(FromPaper):
    """Three amounts on paper that do not agree."""

    wording = "The three amounts do not agree to half a mark. Hold the product back; tell a pharmacist."


class SecondIsYou(FromPaper):
    """One person as both who enter."""

    wording = "Two people enter what was done on paper: a pharmacist other than {name} types badge and PIN."


class MadeOnPaper(FromPaper):
    """Steps or times asked of work that was done on paper."""

    wording = "{code} was made on paper: it has no steps and no timings here. Look at its record."
