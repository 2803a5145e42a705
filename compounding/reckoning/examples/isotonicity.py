"""Examples of isotonic solutions."""

from __future__ import annotations

from decimal import Decimal

from compounding.reckoning import isotonicity, strengths
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.examples.strength_conversion import content
from compounding.reckoning.quantities import Quantity

SALT = Decimal(1)


def _drug(drug: Given, volume: Quantity) -> tuple[Quantity, Decimal]:
    if drug.has("content"):
        return drug.amount("content"), drug.number("e")
    strength = drug.strength("ratio" if drug.has("ratio") else "strength")
    return strengths.content_of(volume, strength, "g").amount, drug.number("e")


def _agent(given: Given, agent_e: Decimal) -> Quantity:
    volume = given.amount("volume")
    drugs = tuple(_drug(drug, volume) for drug in given.parts("drugs"))
    return isotonicity.agent_needed(volume, drugs, agent_e).amount


def salt_to_add(given: Given) -> Quantity:
    """Return the sodium chloride to add."""
    return _agent(given, SALT)


def agent_to_add(given: Given) -> Quantity:
    """Return how much of another agent to add."""
    return _agent(given, given.number("agent_e"))


def salt_by_freezing(given: Given) -> Quantity:
    """Return the sodium chloride to add, by freezing point."""
    return isotonicity.agent_by_freezing(given.amount("volume"), given.number("depression")).amount


def water_for_isotonic(given: Given) -> Quantity:
    """Return the water a drug is isotonic in."""
    return isotonicity.isotonic_volume(given.amount("content"), given.number("e")).amount


def water_of_solution(given: Given) -> Quantity:
    """Return the water that the drug of a whole prescription is isotonic in."""
    return isotonicity.isotonic_volume(content(given), given.number("e")).amount


def e_of_volume(given: Given) -> Decimal:
    """Return the E-value of a drug that is isotonic in a volume."""
    return isotonicity.e_from_volume(given.amount("content"), given.amount("volume"))


def e_value(given: Given) -> Decimal:
    """Return the E-value by molar mass and dissociation."""
    return isotonicity.e_value(given.amount("molar_mass"), given.number("i"))


def freezing_point(given: Given) -> Decimal:
    """Return by how much a solute lowers the freezing point."""
    return isotonicity.freezing_depression(
        given.amount("strength"), given.amount("molar_mass"), given.number("i")
    )


WAYS: dict[str, Way] = {
    "salt to add": salt_to_add,
    "agent to add": agent_to_add,
    "salt by freezing point": salt_by_freezing,
    "water for isotonic": water_for_isotonic,
    "water for isotonic of a solution": water_of_solution,
    "e of a volume": e_of_volume,
    "e value": e_value,
    "freezing point": freezing_point,
}
