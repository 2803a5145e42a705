"""Examples of a dose and a stock: which volume holds the dose."""

from __future__ import annotations

from compounding.reckoning import dosing, strengths
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.quantities import Quantity


def volume_of_dose(given: Given) -> Quantity:
    """Return the volume of a dose."""
    return strengths.volume_of(given.amount("dose"), given.amount("strength")).amount


def volume_by_weight(given: Given) -> Quantity:
    """Return the volume of a dose per kg."""
    content = dosing.per_weight(given.amount("dose"), given.amount("weight")).amount
    return strengths.volume_of(content, given.amount("strength")).amount


WAYS: dict[str, Way] = {
    "volume of a dose": volume_of_dose,
    "volume of a dose by weight": volume_by_weight,
}
