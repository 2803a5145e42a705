"""Examples of weight, body surface and the doses by them."""

from __future__ import annotations

from compounding.reckoning import body, dosing, proportions
from compounding.reckoning.body import SurfaceFormula
from compounding.reckoning.examples.dose_to_volume import volume_of_dose
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.quantities import Quantity, number_in, of, round_half_up


def weight_from_pounds(given: Given) -> Quantity:
    """Return pounds in kg, by the source's own factor."""
    return proportions.weight_of_pounds(given.number("pounds"), given.number("pounds_per_kg")).amount


def dose_from_pounds(given: Given) -> Quantity:
    """Return a dose per kg for a weight in pounds."""
    return dosing.per_weight(given.amount("dose"), weight_from_pounds(given)).amount


def dose_by_weight(given: Given) -> Quantity:
    """Return a dose per kg."""
    return dosing.per_weight(given.amount("dose"), given.amount("weight")).amount


def dose_over_time(given: Given) -> Quantity:
    """Return what a dose rate gives in a time."""
    return dosing.over_time(given.amount("rate"), given.amount("time"), given.amount("weight")).amount


def from_rounded_pounds(given: Given) -> Quantity:
    """Return what a dose rate gives, the weight rounded first as the source does."""
    kilograms = number_in(weight_from_pounds(given), "kg")
    weight = of(round_half_up(kilograms, given.number("weight_to")), "kg")
    return dosing.over_time(given.amount("rate"), given.amount("time"), weight).amount


def surface(given: Given) -> Quantity:
    """Return the body surface by the formula named."""
    formula = SurfaceFormula(given.word("formula"))
    return body.surface(given.amount("height"), given.amount("weight"), formula).amount


def surface_from_pounds(given: Given) -> Quantity:
    """Return the body surface for a weight in pounds."""
    formula = SurfaceFormula(given.word("formula"))
    return body.surface(given.amount("height"), weight_from_pounds(given), formula).amount


def dose_by_surface(given: Given) -> Quantity:
    """Return a dose per square metre for a stated surface."""
    return proportions.dose_by_surface(given.amount("dose"), given.amount("surface")).amount


def carboplatin(given: Given) -> Quantity:
    """Return a carboplatin dose, the filtration capped."""
    return dosing.calvert(given.number("target"), given.amount("filtration")).amount


WAYS: dict[str, Way] = {
    "weight from pounds": weight_from_pounds,
    "dose from pounds": dose_from_pounds,
    "dose by weight": dose_by_weight,
    "dose over time": dose_over_time,
    "daily dose from rounded pounds": from_rounded_pounds,
    "surface": surface,
    "surface from pounds": surface_from_pounds,
    "dose by surface": dose_by_surface,
    "carboplatin": carboplatin,
    "volume of a dose": volume_of_dose,
}
