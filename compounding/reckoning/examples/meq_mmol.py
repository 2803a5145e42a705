"""Examples of mEq, mmol and the masses behind them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

from compounding.reckoning import dosing, nutrition, proportions, strengths, substances
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.examples.weight_bsa_dose import weight_from_pounds
from compounding.reckoning.nutrition import Component
from compounding.reckoning.quantities import Quantity, number_in, of, round_half_up
from compounding.reckoning.substances import Ion

A_ML = of(1, "mL")
ONE_MEQ = of(1, "mEq")


def mass_of_amount(given: Given) -> Quantity:
    """Return the mass of mmol, or of mEq of an ion."""
    ion = given.word("ion") if given.has("ion") else ""
    return substances.mass_of(given.amount("amount"), given.part("of").substance(), ion).amount


def milliequivalents(given: Given) -> Quantity:
    """Return the mEq of an ion in a mass."""
    return substances.milliequivalents(
        given.amount("content"), given.part("of").substance(), given.word("ion")
    ).amount


def millimoles(given: Given) -> Quantity:
    """Return a mass in mmol."""
    return substances.millimoles(given.amount("content"), given.part("of").substance()).amount


def _in_solution(given: Given) -> Quantity:
    return strengths.content_of(given.amount("volume"), given.amount("strength"), "mg").amount


def in_solution(given: Given) -> Quantity:
    """Return the mEq of an ion in a volume of a solution."""
    return substances.milliequivalents(
        _in_solution(given), given.part("of").substance(), given.word("ion")
    ).amount


def with_rounded_weight(given: Given) -> Quantity:
    """Return mEq in a volume, the weight of one mEq rounded first as the source does."""
    substance, ion = given.part("of").substance(), given.word("ion")
    weight = number_in(substances.mass_of(ONE_MEQ, substance, ion).amount, "mg")
    rounded = of(round_half_up(weight, given.number("equivalent_to")), "mg/mmol")
    by_weight = replace(substance, molar_mass=rounded, ions=(Ion(ion, 1, 1),))
    return substances.milliequivalents(_in_solution(given), by_weight, ion).amount


def of_rounded_content(given: Given) -> Quantity:
    """Return mEq per volume, the content of the container rounded first as its label does."""
    content = round_half_up(number_in(in_solution(given), "mEq"), given.number("content_to"))
    return strengths.strength_of(of(content, "mEq"), given.amount("volume"))


def per_volume(given: Given) -> Quantity:
    """Return a strength by mass in mEq per volume."""
    return substances.equivalent_strength(
        given.amount("strength"), given.part("of").substance(), given.word("ion")
    )


def volume_of_amount(given: Given) -> Quantity:
    """Return the volume that holds mEq of an ion."""
    return strengths.volume_of(given.amount("amount"), per_volume(given)).amount


def volume_from_pounds(given: Given) -> Quantity:
    """Return the volume that holds mEq per kg for a weight in pounds."""
    amount = dosing.per_weight(given.amount("dose"), weight_from_pounds(given)).amount
    return strengths.volume_of(amount, per_volume(given)).amount


def mass_in_solution(given: Given) -> Quantity:
    """Return the mass behind the mEq in a volume."""
    amount = strengths.content_of(given.amount("volume"), given.amount("strength"), "mEq").amount
    return substances.mass_of(amount, given.part("of").substance(), given.word("ion")).amount


def by_mass(given: Given) -> Quantity:
    """Return a strength in mEq as a strength by mass."""
    amount = strengths.content_of(A_ML, given.amount("strength"), "mEq").amount
    mass = substances.mass_of(amount, given.part("of").substance(), given.word("ion")).amount
    return strengths.strength_of(mass, A_ML)


def _summed(given: Given, of_each: Callable[[Given], Quantity]) -> Quantity:
    """Return the sum over the solutes in one volume, as the totals of a nutrition bag are made."""
    volume = given.amount("volume")
    components = []
    for solute in given.parts("solutes"):
        amount = of_each(Given({**given.facts, "of": solute.facts, "content": solute.word("content")}))
        strength = strengths.strength_of(amount, volume)
        components.append(Component(solute.word("substance"), volume, (("sought", strength),)))
    return nutrition.bag_of(tuple(components)).content("sought")


def total_mmol(given: Given) -> Quantity:
    """Return the mmol of all solutes."""
    return _summed(given, millimoles)


def total_meq(given: Given) -> Quantity:
    """Return the mEq of an ion in all solutes that have it."""
    ion = given.word("ion")
    having = [one for one in given.parts("solutes") if any(i.name == ion for i in one.substance().ions)]
    return _summed(Given({**given.facts, "solutes": [one.facts for one in having]}), milliequivalents)


def mass_of_part(given: Given) -> Quantity:
    """Return the mass of an ion or element in a mass of a substance that has one of it."""
    return substances.mass_of(millimoles(given), given.part("part").substance()).amount


def total_mass_of_part(given: Given) -> Quantity:
    """Return the mass of an element in all solutes."""
    return _summed(given, mass_of_part)


def share_of_part(given: Given) -> Decimal:
    """Return which share of an element comes from one solute, in percent."""
    one = Given({**given.facts, "content": given.part("of").word("content")})
    return proportions.share_percent(mass_of_part(one), total_mass_of_part(given))


def by_factor(given: Given) -> Quantity:
    """Return a content by the factor of the source."""
    return proportions.by_factor(given.amount("content"), given.amount("factor")).amount


WAYS: dict[str, Way] = {
    "mass of an amount": mass_of_amount,
    "mEq of a mass": milliequivalents,
    "mmol of a mass": millimoles,
    "mEq in a solution": in_solution,
    "mEq with a rounded equivalent weight": with_rounded_weight,
    "mEq per volume of a rounded content": of_rounded_content,
    "mEq per volume": per_volume,
    "volume of an amount": volume_of_amount,
    "volume of an amount from pounds": volume_from_pounds,
    "mass in a solution": mass_in_solution,
    "strength by mass of an amount": by_mass,
    "total mmol": total_mmol,
    "total mEq": total_meq,
    "mass of a part": mass_of_part,
    "total mass of a part": total_mass_of_part,
    "share of a part": share_of_part,
    "content by a factor": by_factor,
}
