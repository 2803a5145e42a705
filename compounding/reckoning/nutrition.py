"""Parenteral nutrition: grams, kcal, mmol and mEq of a bag.

Energy factors are data with their source and belong to the product (worked_examples.md, trap 12);
phosphate is ordered and checked in mmol (trap 6).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import (
    Kind,
    Quantity,
    code_of,
    kind_of,
    number_in,
    of,
    write,
    write_number,
)
from compounding.reckoning.refusals import OutOfRange, WrongKind
from compounding.reckoning.units import EXAMPLES
from compounding.reckoning.working import Worked, short, short_number
from compounding.reckoning.worksheet import Line


@dataclass(frozen=True)
class EnergyFactor:
    """Energy per gram (`3.4 kcal/g`) or per mL (`2 kcal/mL`), and whose figure it is."""

    factor: Quantity
    source: str


@dataclass(frozen=True)
class Component:
    """One product in the bag: its volume, what is in a mL of it by nutrient, and its energy if it has any.

    `contents`: nutrient to strength (`dextrose` 0.7 g/mL, `potassium` 4.4 mEq/mL, `phosphate` 3 mmol/mL). A
    factor per gram counts the first of them.
    """

    name: str
    volume: Quantity
    contents: tuple[tuple[str, Quantity], ...]
    energy: EnergyFactor | None = None
    is_protein: bool = False


@dataclass(frozen=True)
class Nutrition:
    """What a bag holds: volume, each nutrient in its own unit (g, mEq, mmol …), energy in kcal."""

    volume: Quantity
    contents: tuple[tuple[str, Quantity], ...]
    energy: Quantity
    energy_without_protein: Quantity
    lines: tuple[Line, ...]

    def content(self, nutrient: str) -> Quantity:
        """Return how much of a nutrient is in the bag; KeyError for one that is not."""
        return dict(self.contents)[nutrient]


def bag_of(components: tuple[Component, ...]) -> Nutrition:
    """Return the totals of a bag, unrounded. Refuses WrongKind and NotConvertible (mEq added to mmol)."""
    totals: dict[str, Quantity] = {}
    lines: list[Line] = []
    for component in components:
        for nutrient, content, line in _contents(component):
            before = totals.get(nutrient)
            totals[nutrient] = content if before is None else _sum(before, content)
            lines.append(line)
    energies = [(one, _energy_of(one, one.energy)) for one in components if one.energy is not None]
    for _, worked in energies:
        lines += worked.lines
    total = _kcal(worked for _, worked in energies)
    lean = _kcal(worked for component, worked in energies if not component.is_protein)
    volume = of(sum((number_in(one.volume, "mL") for one in components), Decimal(0)), "mL")
    lines.append(Line("energy", f"in all {short(total)}, without protein {short(lean)}"))
    return Nutrition(volume, tuple(totals.items()), total, lean, tuple(lines))


def energy(amount: Quantity, factor: EnergyFactor) -> Worked:
    """Return the energy of a mass (kcal/g) or a volume (kcal/mL), unrounded.

    Refuses WrongKind, NotConvertible.
    """
    kind = kind_of(amount)
    if kind not in (Kind.MASS, Kind.VOLUME):
        raise WrongKind(amount=write(amount), is_kind=kind, kind=Kind.MASS, example=EXAMPLES[Kind.MASS])
    unit = "g" if kind is Kind.MASS else "mL"
    total = of(number_in(amount, unit) * number_in(factor.factor, f"kcal/{unit}"), "kcal")
    text = f"{short(of(number_in(amount, unit), unit))} × {write(factor.factor)} = {short(total)}"
    return Worked(total, (Line("energy", text),))


def amount_for_energy(wanted: Quantity, factor: EnergyFactor) -> Worked:
    """Return the g (kcal/g) or mL (kcal/mL) that give an energy, unrounded. Raises NotConvertible."""
    unit = code_of(factor.factor).partition("/")[2]
    amount = of(number_in(wanted, "kcal") / factor.factor.magnitude, unit)
    return Worked(amount, (Line("energy", f"{write(wanted)} ÷ {write(factor.factor)} = {short(amount)}"),))


def energy_need(basal: Quantity, factors: tuple[Decimal, ...]) -> Worked:
    """Return basal energy × activity × stress and the like, in kcal, unrounded. Refuses OutOfRange."""
    total, texts = number_in(basal, "kcal"), [write(basal)]
    for factor in factors:
        if not 0 < factor <= 5:
            given = write_number(factor)
            raise OutOfRange(what="A factor for energy", given=given, range="a number above 0 and at most 5")
        total *= factor
        texts.append(short_number(factor))
    amount = of(total, "kcal")
    return Worked(amount, (Line("energy", f"{' × '.join(texts)} = {short(amount)}"),))


def glucose_rate(dextrose: Quantity, over: Quantity, body_weight: Quantity) -> Worked:
    """Return the glucose infusion rate in mg/kg/min, unrounded. Raises NotConvertible."""
    grams, minutes = number_in(dextrose, "mg"), number_in(over, "min")
    rate = of(grams / minutes / number_in(body_weight, "kg"), "mg/kg/min")
    text = f"{short(of(grams, 'mg'))} ÷ {short(of(minutes, 'min'))} ÷ {write(body_weight)} = {short(rate)}"
    return Worked(rate, (Line("glucose infusion rate", text),))


def per_day(rate: Quantity, strength: Quantity) -> Worked:
    """Return what a rate per kg (mL/kg/day) of a solution gives, in g/kg/day, unrounded."""
    flow, per_ml = number_in(rate, "mL/kg/day"), number_in(strength, "g/mL")
    amount = of(flow * per_ml, "g/kg/day")
    return Worked(amount, (Line("intake", f"{write(rate)} × {write(strength)} = {short(amount)}"),))


def _contents(component: Component) -> Iterator[tuple[str, Quantity, Line]]:
    for nutrient, strength in component.contents:
        unit = code_of(strength).partition("/")[0]
        if kind_of(strength) is not Kind.STRENGTH or unit == "%":
            raise WrongKind(
                amount=write(strength), is_kind=kind_of(strength), kind=Kind.STRENGTH, example="0.7 g/mL"
            )
        content = of(number_in(strength, f"{unit}/mL") * number_in(component.volume, "mL"), unit)
        text = f"{write(component.volume)} × {write(strength)} = {short(content)}"
        yield nutrient, content, Line(f"{nutrient} from {component.name}", text)


def _sum(one: Quantity, other: Quantity) -> Quantity:
    unit = code_of(one)
    return of(one.magnitude + number_in(other, unit), unit)


def _energy_of(component: Component, factor: EnergyFactor) -> Worked:
    if code_of(factor.factor).endswith("/mL"):
        return energy(component.volume, factor)
    _, first, _ = next(_contents(component))
    return energy(first, factor)


def _kcal(worked: Iterator[Worked]) -> Quantity:
    return of(sum((one.amount.magnitude for one in worked), Decimal(0)), "kcal")
