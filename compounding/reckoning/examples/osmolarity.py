"""Examples of osmolarity: particles of what is dissolved, over the volume."""

from __future__ import annotations

from compounding.reckoning import osmolarity, strengths
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.examples.reconstitution import strength_made
from compounding.reckoning.osmolarity import Osmolarity, Part, Solute
from compounding.reckoning.quantities import Quantity, number_in, of, round_half_up

A_LITRE = of(1, "L")


def _solute(solute: Given, volume: Quantity) -> Solute:
    ion = solute.word("ion") if solute.has("ion") else ""
    if solute.has("content"):
        return Solute(solute.substance(), solute.amount("content"), ion)
    strength = solute.amount("strength")
    unit = strengths.base_of_strength(strength)
    return Solute(solute.substance(), strengths.content_of(volume, strength, unit).amount, ion)


def _part(given: Given) -> Part:
    volume = given.amount_if_given("volume") or A_LITRE
    return Part("solution", volume, tuple(_solute(one, volume) for one in given.parts("solutes")))


def _reckoned(given: Given) -> Osmolarity:
    return osmolarity.osmolarity_of((_part(given),))


def osmolarity_of(given: Given) -> Quantity:
    """Return mOsmol per volume."""
    return _reckoned(given).osmolarity


def total(given: Given) -> Quantity:
    """Return mOsmol in the volume."""
    return _reckoned(given).content


def total_of_rounded_parts(given: Given) -> Quantity:
    """Return mOsmol in the volume, each solute's rounded first as the source does."""
    part, step = _part(given), given.number("part_to")
    rounded = []
    for solute in part.solutes:
        exact = number_in(osmolarity.osmoles(solute).amount, "mOsmol")
        rounded.append(Solute(solute.substance, of(round_half_up(exact, step), "mOsmol")))
    return osmolarity.osmolarity_of((Part(part.name, part.volume, tuple(rounded)),)).content


WAYS: dict[str, Way] = {
    "osmolarity": osmolarity_of,
    "total": total,
    "total of rounded parts": total_of_rounded_parts,
    "osmoles in a volume": strength_made,
}
