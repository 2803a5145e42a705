"""Examples of what ends up in a bag, and how fast it runs."""

from __future__ import annotations

from decimal import Decimal

from compounding.reckoning import admixing, infusion, proportions
from compounding.reckoning.examples.dilution_alligation import WATER, strength_of_dilution, strength_of_mix
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.examples.strength_conversion import content
from compounding.reckoning.quantities import Quantity
from compounding.reckoning.request import NOTHING, Method, Vehicle

ANY_SHARE = Decimal(10)


def volume_in_bag(given: Given) -> Quantity:
    """Return what a bag holds once something was added to it."""
    additive, bag = given.amount("additive"), given.amount("bag")
    capacity = proportions.total_of((bag, additive)).amount
    vehicle = Vehicle("", "bag", bag, NOTHING, capacity)
    return admixing.into_bag(additive, vehicle, Method.ADD_ONLY, ANY_SHARE).labelled


def stock_into_bag(given: Given) -> Quantity:
    """Return how much stock turns a bag of water into a strength."""
    stock, wanted = given.amount("stock"), given.amount("wanted")
    return proportions.volume_to_add(stock, given.amount("bag"), WATER, wanted).amount


def rate_with_additive(given: Given) -> Quantity:
    """Return the rate of a bag, the additive counted."""
    return infusion.pump_rate(volume_in_bag(given), given.amount("time")).amount


def drops_with_additive(given: Given) -> Quantity:
    """Return the drops of a bag, the additive counted, unrounded."""
    return infusion.drops(rate_with_additive(given), given.amount("set")).amount


def drops(given: Given) -> Quantity:
    """Return the drops of a volume over a time, unrounded."""
    rate = infusion.pump_rate(given.amount("volume"), given.amount("time")).amount
    return infusion.drops(rate, given.amount("set")).amount


WAYS: dict[str, Way] = {
    "volume in the bag": volume_in_bag,
    "stock into a bag": stock_into_bag,
    "strength of a mix": strength_of_mix,
    "strength of a dilution": strength_of_dilution,
    "content": content,
    "rate with the additive": rate_with_additive,
    "drops": drops,
}
