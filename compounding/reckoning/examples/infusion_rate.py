"""Examples of rates, drops and run times."""

from __future__ import annotations

from compounding.reckoning import infusion, proportions
from compounding.reckoning.examples.bag_concentration_volume import drops_with_additive
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.examples.weight_bsa_dose import weight_from_pounds
from compounding.reckoning.quantities import Quantity


def rate(given: Given) -> Quantity:
    """Return a volume over a time."""
    return infusion.pump_rate(given.amount("volume"), given.amount("time")).amount


def drop_rate(given: Given) -> Quantity:
    """Return the drops a minute to count for a volume over a time."""
    return infusion.drop_rate(rate(given), given.amount("set")).amount


def drop_rate_of_rate(given: Given) -> Quantity:
    """Return the drops a minute to count at a rate."""
    return infusion.drop_rate(given.amount("rate"), given.amount("set")).amount


def drops_an_hour(given: Given) -> Quantity:
    """Return the drops an hour, unrounded."""
    return infusion.drops(rate(given), given.amount("set"), "gtt/h").amount


def rate_for_dose(given: Given) -> Quantity:
    """Return the rate that gives what is ordered."""
    order, strength = given.amount("order"), given.amount("strength")
    return infusion.rate_for_dose(order, strength, given.amount_if_given("weight")).amount


def drop_rate_for_dose(given: Given) -> Quantity:
    """Return the drops a minute that give what is ordered."""
    return infusion.drop_rate(rate_for_dose(given), given.amount("set")).amount


def dose_rate_over(given: Given) -> Quantity:
    """Return a content over a time, per minute."""
    return infusion.dose_rate_over(given.amount("content"), given.amount("time"), "units/min").amount


def dose_rate_of_rate(given: Given) -> Quantity:
    """Return the dose rate that a rate gives."""
    flow, strength = given.amount("rate"), given.amount("strength")
    return infusion.dose_rate_at(flow, strength, given.word("unit")).amount


def content_of_drop(given: Given) -> Quantity:
    """Return what a drop holds."""
    return proportions.content_of_drop(given.amount("strength"), given.amount("set")).amount


def time_for_dose(given: Given) -> Quantity:
    """Return how long a content takes."""
    return infusion.time_for_dose(given.amount("content"), given.amount("order")).amount


def volume_a_day(given: Given) -> Quantity:
    """Return what a rate per kg gives in a day."""
    flow = infusion.rate_by_weight(given.amount("rate"), given.amount("weight")).amount
    return infusion.volume_over(flow, given.amount("time")).amount


def content_for_rate(given: Given) -> Quantity:
    """Return how much drug makes a rate give what is ordered."""
    order, volume = given.amount("order"), given.amount("volume")
    return infusion.content_for_rate(order, given.amount("rate"), volume, given.amount("weight")).amount


def volume_from_pounds(given: Given) -> Quantity:
    """Return the volume that runs in a time, for a weight in pounds."""
    order, strength = given.amount("order"), given.amount("strength")
    flow = infusion.rate_for_dose(order, strength, weight_from_pounds(given)).amount
    return infusion.volume_over(flow, given.amount("time")).amount


WAYS: dict[str, Way] = {
    "rate": rate,
    "drop rate": drop_rate,
    "drop rate of a rate": drop_rate_of_rate,
    "drops an hour": drops_an_hour,
    "drops with the additive": drops_with_additive,
    "rate for a dose": rate_for_dose,
    "drop rate for a dose": drop_rate_for_dose,
    "dose rate over a time": dose_rate_over,
    "dose rate of a rate": dose_rate_of_rate,
    "content of a drop": content_of_drop,
    "weight from pounds": weight_from_pounds,
    "time for a dose": time_for_dose,
    "volume a day": volume_a_day,
    "content for a rate": content_for_rate,
    "volume of an infusion from pounds": volume_from_pounds,
}
