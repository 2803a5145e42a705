"""Strengths. Outside sources: worked examples by their numbers (page read unless said), WX001 to WX377."""

from decimal import Decimal

import pytest

from compounding.reckoning.quantities import of, read, round_half_up
from compounding.reckoning.refusals import NotConvertible, OutOfRange
from compounding.reckoning.strengths import content_of, per_ml, percent, ratio, strength_of, volume_of


@pytest.mark.parametrize(
    ("dose", "strength", "volume", "step"),
    [
        ("2 mg", "1.25 mg/mL", "1.6", "0.1"),  # WX001
        ("5000 units", "40000 units/mL", "0.13", "0.01"),  # WX005, half up
        ("15000 units", "20000 units/mL", "0.75", "0.01"),  # WX006
        ("200 mg", "105 mg/5 mL", "9.5", "0.1"),  # WX010
        ("400 mg", "250 mg/5 mL", "8", "1"),  # WX011
        ("350 mg", "200 mg/5 mL", "8.8", "0.1"),  # WX012, 8.75 half up
        ("0.08 mg", "0.05 mg/mL", "1.6", "0.1"),  # WX013
        ("0.01 g", "80 mg/2 mL", "0.25", "0.01"),  # WX016
        ("500 mcg", "1 mg/mL", "0.5", "0.1"),  # WX018
        ("30 mg", "50 mg/4 mL", "2.4", "0.1"),  # WX020
        ("20000 units", "8000 units/5 mL", "12.5", "0.1"),  # WX021
        ("70 mg", "80 mg/5 mL", "4.375", "0.001"),  # WX023
        ("1.4 g", "2 g/5 mL", "3.5", "0.1"),  # WX030
        ("0.375 g", "330 mg/mL", "1.1", "0.1"),  # WX031
        ("65 mg", "100 mg/mL", "0.7", "0.1"),  # WX033, 0.65 half up
        ("25 mEq", "20 mEq/15 mL", "18.75", "0.01"),  # WX034
        ("355 mg", "500 mg/10 mL", "7.1", "0.1"),  # WX037, from memory
        ("144.58 mg", "4 mg/mL", "36.145", "0.001"),  # WX369
        ("5500 units", "95000 units/3.8 mL", "0.22", "0.01"),  # WX371
        ("10000 units", "95000 units/3.8 mL", "0.4", "0.01"),  # WX375
    ],
)
def test_volume_of_a_dose(dose: str, strength: str, volume: str, step: str) -> None:
    found = volume_of(read(dose), read(strength)).amount
    assert round_half_up(found.magnitude, Decimal(step)) == Decimal(volume)


def test_the_working_is_what_a_pharmacist_writes() -> None:
    assert [line.text for line in volume_of(of(1250, "mg"), of(50, "mg/mL")).lines] == [
        "1,250 mg ÷ 50 mg/mL = 25 mL"
    ]
    assert [line.text for line in volume_of(of(2, "g"), of(330, "mg/mL")).lines] == [
        "2 g = 2,000 mg",
        "2,000 mg ÷ 330 mg/mL = 6.06 mL",
    ]


@pytest.mark.parametrize(
    ("text", "as_percent"),
    [
        ("1:500", "0.2"),  # WX115
        ("1:40", "2.5"),  # WX119
        ("1:20,000", "0.005"),  # WX121
        ("1:10,000", "0.01"),  # WX364
        ("1:200000", "0.0005"),  # WX124: 5 mcg/mL
    ],
)
def test_ratios_of_old_labels(text: str, as_percent: str) -> None:
    assert percent(ratio(text)) == of(as_percent, "%")


@pytest.mark.parametrize("text", ["1:0", "2:1000", "1:1,00", "1 : 1000", "1:-5", "1:" + "9" * 400])
def test_no_other_ratio(text: str) -> None:
    with pytest.raises(OutOfRange):
        ratio(text)


def test_percent_is_grams_in_100_ml() -> None:
    assert per_ml(of("0.25", "%")) == of("2.5", "mg/mL")  # WX120
    assert percent(read("1 mg/5 mL")) == of("0.02", "%")  # WX117
    assert percent(read("600 mg/150 mL")) == of("0.4", "%")  # WX367
    assert content_of(of(4000, "mL"), of(5, "%"), "g").amount == of(200, "g")  # WX129
    assert content_of(of(5, "mL"), of(20, "%"), "mg").amount == of(1000, "mg")  # WX368
    assert content_of(of("1.8", "mL"), ratio("1:80,000"), "mg").amount == of("0.0225", "mg")  # WX127
    assert strength_of(of(1, "g"), of(10, "mL")) == of(100, "mg/mL")


def test_mass_and_milliequivalents_never_meet() -> None:
    with pytest.raises(NotConvertible) as refused:
        volume_of(of(20, "mEq"), of(149, "mg/mL"))
    assert "20 mEq" in refused.value.sentence
    assert "149 mg/mL" in refused.value.sentence
    with pytest.raises(NotConvertible):
        volume_of(of(5, "mg/kg"), of(50, "mg/mL"))
