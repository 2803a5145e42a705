"""The patient's body. Outside sources: WX059 to WX061 and WX296 to WX299 (memory), trap 13 of
worked_examples.md.
"""

from decimal import Decimal

import pytest

from compounding.reckoning.body import (
    Sex,
    SurfaceFormula,
    adjusted_weight,
    creatinine_clearance,
    ideal_weight,
    surface,
)
from compounding.reckoning.quantities import of, round_half_up
from compounding.reckoning.refusals import NotConvertible, OutOfRange

D = Decimal


@pytest.mark.parametrize(
    ("formula", "area"),
    [
        (SurfaceFormula.DUBOIS, "1.81"),
        (SurfaceFormula.MOSTELLER, "1.82"),
        (SurfaceFormula.HAYCOCK, "1.83"),
    ],
)
def test_three_formulas_differ_in_the_second_decimal(formula: SurfaceFormula, area: str) -> None:
    found = surface(of(170, "cm"), of(70, "kg"), formula)
    assert round_half_up(found.amount.magnitude, D("0.01")) == D(area)
    assert formula in found.lines[0].text


def test_inches_and_centimetres_agree() -> None:
    # WX043 (page): 74 in and 183 lb, 2.08 m2 by the inch and pound divisor 3131; 183 lb are 83 kg
    found = surface(of(74, "in"), of("83.01", "kg")).amount.magnitude
    assert round_half_up(found, D("0.01")) == D("2.08")


@pytest.mark.parametrize(
    ("sex", "inches", "weight"),
    [(Sex.MALE, 68, "68.4"), (Sex.FEMALE, 60, "45.5"), (Sex.MALE, 70, "73")],
)
def test_devine(sex: Sex, inches: int, weight: str) -> None:
    assert ideal_weight(of(inches, "in"), sex).amount == of(weight, "kg")


def test_below_60_inches_there_is_no_rule() -> None:
    with pytest.raises(OutOfRange, match="60 in"):
        ideal_weight(of(150, "cm"), Sex.FEMALE)


def test_adjusted_weight_is_between() -> None:
    assert adjusted_weight(of(100, "kg"), of(70, "kg")).amount == of(82, "kg")


def test_cockcroft_and_gault() -> None:
    found = creatinine_clearance(80, of(70, "kg"), of(2, "mg/dL"), Sex.MALE)
    assert round_half_up(found.amount.magnitude, D("0.1")) == D("29.2")
    woman = creatinine_clearance(80, of(70, "kg"), of(2, "mg/dL"), Sex.FEMALE)
    assert woman.amount.magnitude == found.amount.magnitude * D("0.85")
    with pytest.raises(OutOfRange):
        creatinine_clearance(12, of(40, "kg"), of(1, "mg/dL"), Sex.MALE)


def test_a_drug_mass_is_no_body_weight() -> None:
    with pytest.raises(NotConvertible):
        surface(of(170, "cm"), of(70000, "g"))
