"""The gate is shut, with every reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from compounding.reckoning.refusals import Refusal


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
