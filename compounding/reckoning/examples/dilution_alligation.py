"""Examples of diluting, concentrating and mixing two strengths."""

from __future__ import annotations

from decimal import Decimal

from compounding.reckoning import dilution, proportions
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.quantities import Quantity, of

WATER = of(0, "%")


def parts_of_weaker(given: Given) -> Decimal:
    """Return the parts of the weaker to one of the stronger."""
    stronger, weaker = given.amount("stronger"), given.amount("weaker")
    return proportions.parts_of_weaker(stronger, weaker, given.amount("wanted"))


def stock_to_dilute(given: Given) -> Quantity:
    """Return how much stock makes a total of a strength."""
    return dilution.stock_volume(
        given.strength("stock"), given.strength("wanted"), given.amount("total")
    ).amount


def diluent_to_add(given: Given) -> Quantity:
    """Return how much water goes with the stock: alligation with a solution that holds nothing."""
    stock, wanted = given.strength("stock"), given.strength("wanted")
    return dilution.alligation(stock, WATER, wanted, given.amount("total"))[1].amount


def _mixed(given: Given) -> tuple[Quantity, Quantity]:
    stronger, weaker = given.amount("stronger"), given.amount("weaker")
    parts = dilution.alligation(stronger, weaker, given.amount("wanted"), given.amount("total"))
    return parts[0].amount, parts[1].amount


def stronger_of_two(given: Given) -> Quantity:
    """Return how much of the stronger of two."""
    return _mixed(given)[0]


def weaker_of_two(given: Given) -> Quantity:
    """Return how much of the weaker of two."""
    return _mixed(given)[1]


def strength_of_dilution(given: Given) -> Quantity:
    """Return the strength of a volume of stock made up to a total."""
    stock, total = given.strength("stock"), given.amount("total")
    return dilution.diluted_strength(stock, given.amount("volume"), total).amount


def strength_of_mix(given: Given) -> Quantity:
    """Return the strength of a volume of stock mixed with another volume."""
    total = proportions.total_of((given.amount("volume"), given.amount("other"))).amount
    return dilution.diluted_strength(given.strength("stock"), given.amount("volume"), total).amount


def concentrated_to(given: Given) -> Quantity:
    """Return the volume that evaporation leaves: C₁V₁ = C₂V₂ read backwards."""
    return dilution.stock_volume(
        given.amount("wanted"), given.amount("strength"), given.amount("volume")
    ).amount


def diluent_into_volume(given: Given) -> Quantity:
    """Return how much water weakens a volume to a strength."""
    volume, strength = given.amount("volume"), given.amount("strength")
    return proportions.volume_to_add(WATER, volume, strength, given.amount("wanted")).amount


WAYS: dict[str, Way] = {
    "parts of the weaker": parts_of_weaker,
    "stock to dilute": stock_to_dilute,
    "diluent to add": diluent_to_add,
    "stronger of two": stronger_of_two,
    "weaker of two": weaker_of_two,
    "strength of a dilution": strength_of_dilution,
    "strength of a mix": strength_of_mix,
    "volume concentrated to": concentrated_to,
    "diluent into a volume": diluent_into_volume,
}
