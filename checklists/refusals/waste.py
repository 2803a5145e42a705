"""Waste of a controlled medicine that is not accounted for as it should be."""

from __future__ import annotations

from collections.abc import Mapping

from compounding.reckoning.refusals import Refusal


class AtTheWaste(Refusal):
    """Waste that cannot be accounted for so."""


class NothingToAccountFor(AtTheWaste):
    """No controlled medicine was opened, or all of it is accounted for."""

    wording = "Nothing of a controlled medicine is left to be accounted for here."


class WitnessIsYou(AtTheWaste):
    """Somebody who would be their own witness."""

    wording = "{name} cannot witness their own act. Another person scans their badge and types their PIN."


class WasteNotAccounted(AtTheWaste):
    """Another piece of work, while waste of a controlled medicine lies about."""

    wording = "Waste of a controlled medicine of {code} is not accounted for. Do that first, with a witness."


class WasteAmounts(AtTheWaste):
    """Amounts that cannot be read, or that differ from what should be left; each with its own sentence."""

    wording = "What was measured is not taken yet. Each amount says why."

    def __init__(self, by_field: Mapping[str, str]) -> None:
        """Keep the sentence of every field."""
        self.by_field = dict(by_field)
        super().__init__()


class WasteDiffers(AtTheWaste):
    """A measured amount far from what the label and the draws leave."""

    wording = "By label and draws {reckoned} should be left. Measure again, or write why it differs."


class WitnessWanted(AtTheWaste):
    """A step that only the page of the waste finishes."""

    wording = "Account for the waste on its own page, with a witness."
