"""Examples of energy and intake by vein."""

from __future__ import annotations

from compounding.reckoning import infusion, nutrition, proportions, strengths
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.examples.strength_conversion import content, percent_of_mix
from compounding.reckoning.examples.weight_bsa_dose import dose_over_time
from compounding.reckoning.nutrition import Component, EnergyFactor, Nutrition
from compounding.reckoning.quantities import Quantity


def _factor(given: Given) -> EnergyFactor:
    return EnergyFactor(given.amount("factor"), "the example")


def glucose_rate(given: Given) -> Quantity:
    """Return the glucose infusion rate."""
    return nutrition.glucose_rate(
        given.amount("dextrose"), given.amount("time"), given.amount("weight")
    ).amount


def energy(given: Given) -> Quantity:
    """Return the energy of a mass or a volume."""
    return nutrition.energy(given.amount("amount"), _factor(given)).amount


def energy_of_rate(given: Given) -> Quantity:
    """Return the energy of what runs in a time."""
    volume = infusion.volume_over(given.amount("rate"), given.amount("time")).amount
    return nutrition.energy(volume, _factor(given)).amount


def energy_of_solution(given: Given) -> Quantity:
    """Return the energy of what a volume holds."""
    return nutrition.energy(content(given), _factor(given)).amount


def amount_for_energy(given: Given) -> Quantity:
    """Return the g or mL that give an energy."""
    return nutrition.amount_for_energy(given.amount("energy"), _factor(given)).amount


def total_energy(given: Given) -> Quantity:
    """Return the sum of printed energies."""
    return proportions.total_of(given.amounts("parts")).amount


def energy_left(given: Given) -> Quantity:
    """Return what is left of an energy."""
    return proportions.left_of(given.amount("energy"), given.amounts("parts")).amount


def _bag(given: Given) -> Nutrition:
    return nutrition.bag_of(
        tuple(_component(one, given.amount("volume")) for one in given.parts("components"))
    )


def _component(given: Given, volume: Quantity) -> Component:
    nutrient = given.word("nutrient")
    strength = strengths.strength_of(given.amount("content"), volume)
    return Component(nutrient, volume, ((nutrient, strength),), _factor(given), given.has("protein"))


def energy_of_bag(given: Given) -> Quantity:
    """Return the energy of all components."""
    return _bag(given).energy


def energy_without_protein(given: Given) -> Quantity:
    """Return the energy without that of protein."""
    return _bag(given).energy_without_protein


def energy_need(given: Given) -> Quantity:
    """Return the energy needed in a day."""
    return nutrition.energy_need(given.amount("basal"), given.numbers("factors")).amount


def intake_a_day(given: Given) -> Quantity:
    """Return what a rate per kg gives in a day."""
    return nutrition.per_day(given.amount("rate"), given.amount("strength")).amount


WAYS: dict[str, Way] = {
    "glucose rate": glucose_rate,
    "energy": energy,
    "energy of a rate": energy_of_rate,
    "energy of a solution": energy_of_solution,
    "amount for an energy": amount_for_energy,
    "total energy": total_energy,
    "energy left": energy_left,
    "energy of a bag": energy_of_bag,
    "energy without protein": energy_without_protein,
    "energy need": energy_need,
    "intake a day": intake_a_day,
    "dose over time": dose_over_time,
    "percent of a mix": percent_of_mix,
    "content": content,
}
