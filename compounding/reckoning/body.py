"""The patient's body: ideal and adjusted weight, body surface, creatinine clearance.

Formulas from memory of their papers, checked against published answers in the tests: Devine 1974, Mosteller
1987, DuBois and DuBois 1916, Haycock 1978, Cockcroft and Gault 1976.
"""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum

from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.refusals import OutOfRange
from compounding.reckoning.working import Worked, short, short_number
from compounding.reckoning.worksheet import Line


class Sex(StrEnum):
    """As the formulas know it."""

    FEMALE = "female"
    MALE = "male"


class SurfaceFormula(StrEnum):
    """Which formula a body surface is by; they differ in the second decimal, so it is recorded."""

    MOSTELLER = "Mosteller"
    DUBOIS = "DuBois and DuBois"
    HAYCOCK = "Haycock"


# constant, power of the weight in kg, power of the height in cm
_SURFACES = {
    SurfaceFormula.DUBOIS: (Decimal("0.007184"), Decimal("0.425"), Decimal("0.725")),
    SurfaceFormula.HAYCOCK: (Decimal("0.024265"), Decimal("0.5378"), Decimal("0.3964")),
}
_IDEAL_AT_60_INCHES = {Sex.MALE: Decimal(50), Sex.FEMALE: Decimal("45.5")}
_PER_INCH = Decimal("2.3")
_ADJUSTED_SHARE = Decimal("0.4")
_FEMALE_CLEARANCE = Decimal("0.85")


def surface(height: Quantity, weight: Quantity, formula: SurfaceFormula = SurfaceFormula.MOSTELLER) -> Worked:
    """Return the body surface in square metres, unrounded. Raises NotConvertible."""
    tall, heavy = number_in(height, "cm"), number_in(weight, "kg")
    if formula is SurfaceFormula.MOSTELLER:
        area = of((tall * heavy / 3600).sqrt(), "m2")
        text = f"√({write(height)} × {write(weight)} ÷ 3,600) = {short(area)}"
    else:
        constant, by_weight, by_height = _SURFACES[formula]
        area = of(constant * heavy**by_weight * tall**by_height, "m2")
        text = f"{constant} × {write(weight)}^{by_weight} × {write(height)}^{by_height} = {short(area)}"
    return Worked(area, (Line("body surface", f"{formula}: {text}"),))


def ideal_weight(height: Quantity, sex: Sex) -> Worked:
    """Return the ideal body weight by Devine, in kg. Below 60 inches there is no single rule: OutOfRange."""
    over = number_in(height, "in") - 60
    if over < 0:
        raise OutOfRange(
            what="A height for the ideal weight", given=write(height), range="at least 60 in (152.4 cm)"
        )
    start = _IDEAL_AT_60_INCHES[sex]
    weight = of(start + _PER_INCH * over, "kg")
    text = f"{start} kg + 2.3 kg × {short_number(over)} in over 60 in = {short(weight)}"
    return Worked(weight, (Line("ideal weight", text),))


def adjusted_weight(actual: Quantity, ideal: Quantity) -> Worked:
    """Return ideal + 0.4 × (actual − ideal), in kg (common practice)."""
    base, above = number_in(ideal, "kg"), number_in(actual, "kg") - number_in(ideal, "kg")
    weight = of(base + _ADJUSTED_SHARE * above, "kg")
    text = f"{short(ideal)} + 0.4 × ({short(actual)} − {short(ideal)}) = {short(weight)}"
    return Worked(weight, (Line("adjusted weight", text),))


def creatinine_clearance(age: int, weight: Quantity, creatinine: Quantity, sex: Sex) -> Worked:
    """Return the clearance by Cockcroft and Gault, in mL/min; `creatinine` as mg/dL. Raises OutOfRange."""
    if not 18 <= age <= 120:
        raise OutOfRange(what="An age for this formula", given=str(age), range="18 to 120 years")
    heavy, level = number_in(weight, "kg"), number_in(creatinine, "mg/dL")
    share = _FEMALE_CLEARANCE if sex is Sex.FEMALE else Decimal(1)
    clearance = of((140 - age) * heavy / (72 * level) * share, "mL/min")
    text = f"(140 − {age}) × {write(weight)} ÷ (72 × {write(creatinine)})"
    if sex is Sex.FEMALE:
        text += " × 0.85"
    return Worked(clearance, (Line("creatinine clearance", f"{text} = {short(clearance)}"),))
