"""Examples of creatinine clearance and ideal weight."""

from __future__ import annotations

from compounding.reckoning import body
from compounding.reckoning.body import Sex
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.quantities import Quantity


def clearance(given: Given) -> Quantity:
    """Return the clearance by Cockcroft and Gault."""
    age, sex = int(given.word("age")), Sex(given.word("sex"))
    return body.creatinine_clearance(age, given.amount("weight"), given.amount("creatinine"), sex).amount


def ideal_weight(given: Given) -> Quantity:
    """Return the ideal weight by Devine."""
    return body.ideal_weight(given.amount("height"), Sex(given.word("sex"))).amount


WAYS: dict[str, Way] = {"clearance": clearance, "ideal weight": ideal_weight}
