"""What an example gives, read as strictly as everything else that comes from a file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from compounding.reckoning import quantities, reading, strengths
from compounding.reckoning.quantities import Quantity
from compounding.reckoning.substances import SUBSTANCES, Ion, Substance


@dataclass(frozen=True)
class Given:
    """The facts of one example. A missing one is a fault of the example: KeyError."""

    facts: Mapping[str, Any]

    def word(self, name: str) -> str:
        """Return a text as it stands."""
        return str(self.facts[name])

    def amount(self, name: str) -> Quantity:
        """Return an amount."""
        return quantities.read(self.word(name), grouping=True)

    def amount_if_given(self, name: str) -> Quantity | None:
        """Return an amount, None where the example has none."""
        return self.amount(name) if name in self.facts else None

    def amounts(self, name: str) -> tuple[Quantity, ...]:
        """Return several amounts."""
        return tuple(quantities.read(text, grouping=True) for text in self.facts[name])

    def number(self, name: str) -> Decimal:
        """Return a bare number."""
        return reading.read_plain_number(self.word(name), grouping=True)

    def numbers(self, name: str) -> tuple[Decimal, ...]:
        """Return several bare numbers."""
        return tuple(reading.read_plain_number(text) for text in self.facts[name])

    def strength(self, name: str) -> Quantity:
        """Return a strength, also of a ratio as an old label prints it (`1:1,000`)."""
        text = self.word(name)
        return strengths.ratio(text) if ":" in text else quantities.read(text, grouping=True)

    def part(self, name: str) -> Given:
        """Return facts that stand under one name."""
        return Given(self.facts[name])

    def parts(self, name: str) -> tuple[Given, ...]:
        """Return a list of facts."""
        return tuple(Given(facts) for facts in self.facts[name])

    def has(self, name: str) -> bool:
        """Tell whether the example gives this."""
        return name in self.facts

    def substance(self) -> Substance:
        """Return the substance these facts describe: a known one, with the example's own molar mass and ions.

        An ion is written `potassium: 1`, or `potassium: 1 × 3` for three of it.
        """
        name = self.word("substance")
        known = SUBSTANCES.get(name)
        ions = tuple(_ion(ion, str(text)) for ion, text in self.facts.get("ions", {}).items())
        particles = self.facts.get("particles", known.particles if known else 1)
        mass = self.amount_if_given("molar_mass") or (
            known.molar_mass if known else self.amount("molar_mass")
        )
        return Substance(name, name, mass, ions or (known.ions if known else ()), int(particles))


Answer = Quantity | Decimal | int
Way = Callable[[Given], Answer]


def _ion(name: str, text: str) -> Ion:
    valence, _, count = text.partition(" × ")
    return Ion(name, int(valence), int(count or "1"))
