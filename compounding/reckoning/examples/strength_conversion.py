"""Examples of one strength written another way: percent, ratio, per mL."""

from __future__ import annotations

from compounding.reckoning import strengths
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.examples.reconstitution import strength_made
from compounding.reckoning.quantities import Quantity, of

A_GRAM = of(1, "g")


def of_ratio(given: Given) -> Quantity:
    """Return the strength of a ratio."""
    return strengths.ratio(given.word("ratio"))


def percent(given: Given) -> Quantity:
    """Return a strength in percent."""
    return strengths.percent(given.amount("strength"))


def percent_of_mix(given: Given) -> Quantity:
    """Return a content in a volume in percent."""
    return strengths.percent(strength_made(given))


def per_ml(given: Given) -> Quantity:
    """Return a strength per mL."""
    return strengths.per_ml(given.amount("strength"))


def content(given: Given) -> Quantity:
    """Return what a volume holds."""
    strength = given.strength("strength")
    unit = strengths.base_of_strength(strength)
    return strengths.content_of(given.amount("volume"), strength, unit).amount


def number_of_ratio(given: Given) -> Quantity:
    """Return N of 1:N, the mL that hold a gram."""
    return strengths.volume_of(A_GRAM, given.amount("strength")).amount


WAYS: dict[str, Way] = {
    "strength of a ratio": of_ratio,
    "percent": percent,
    "percent of a mix": percent_of_mix,
    "strength of a mix": strength_made,
    "per mL": per_ml,
    "content": content,
    "number of a ratio": number_of_ratio,
}
