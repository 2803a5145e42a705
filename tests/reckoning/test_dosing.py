"""Doses. Outside sources: worked examples by number (page read unless said); Calvert cap WX062 to WX064."""

from decimal import Decimal
from typing import Any

import pytest

from compounding.reckoning.dosing import (
    calvert,
    capped,
    check_limits,
    over_time,
    per_area,
    required_content,
    rounded_to_vial,
)
from compounding.reckoning.quantities import of, round_half_up
from compounding.reckoning.refusals import (
    MissingFact,
    NotRoundable,
    OutOfRange,
    OverDoseLimit,
    UnderDoseLimit,
    WrongKind,
)

D = Decimal


@pytest.mark.parametrize(
    ("dose", "weight", "content"),
    [
        (of("0.25", "mg/kg"), of(70, "kg"), of("17.5", "mg")),  # WX002: 3.5 mL of 5 mg/mL
        (of(5, "mg/kg"), of(60, "kg"), of(300, "mg")),  # WX028: 7.5 mL of 40 mg/mL
        (of("2.5", "mg/kg"), of("27.3", "kg"), of("68.25", "mg")),  # WX055
        (of(100, "mcg/kg"), of(70, "kg"), of(7, "mg")),  # WX038
        (of(80, "units/kg"), of(70, "kg"), of(5600, "units")),  # common practice, no source
        (of("0.5", "mEq/kg"), of(20, "kg"), of(10, "mEq")),  # common practice, no source
    ],
)
def test_a_dose_per_kg_is_times_the_weight(dose: Any, weight: Any, content: Any) -> None:
    found = required_content(dose, weight, None)
    assert found.amount == content
    assert "×" in found.lines[0].text


def test_an_absolute_dose_is_left_alone() -> None:
    assert required_content(of(500, "mg"), None, None).amount == of(500, "mg")


@pytest.mark.parametrize(
    ("area", "dose", "content"),
    [
        ("0.5", "50", "25"),
        ("0.7", "50", "35"),
        ("0.9", "50", "45"),
        ("2.08", "375", "780"),
    ],  # WX046-048, WX044
)
def test_a_dose_per_area(area: str, dose: str, content: str) -> None:
    # Mosteller: 3600 × area² = height × weight, with a height of 100 cm
    weight = of(36 * D(area) ** 2, "kg")
    found = per_area(of(dose, "mg/m2"), weight, of(100, "cm")).amount
    assert round_half_up(found.magnitude, D("0.000001")) == D(content)


@pytest.mark.parametrize(
    ("dose", "weight", "height", "fact"),
    [
        (of(5, "mg/kg"), None, None, "The body weight"),
        (of(5, "mg/m2"), None, of(170, "cm"), "The body weight"),
        (of(5, "mg/m2"), of(70, "kg"), None, "The height"),
    ],
)
def test_what_is_missing_is_named(dose: Any, weight: Any, height: Any, fact: str) -> None:
    with pytest.raises(MissingFact) as refused:
        required_content(dose, weight, height)
    assert refused.value.facts["fact"] == fact


def test_a_strength_is_no_dose() -> None:
    with pytest.raises(WrongKind):
        required_content(of(5, "mg/mL"), of(70, "kg"), None)


def test_over_time() -> None:
    assert over_time(of(5, "mcg/kg/min"), of(1, "h"), of(70, "kg")).amount == of(21, "mg")
    assert over_time(of(1000, "units/h"), of(1, "day")).amount == of(24000, "units")
    with pytest.raises(MissingFact):
        over_time(of(5, "mcg/kg/min"), of(1, "h"))
    with pytest.raises(MissingFact):
        over_time(of(5, "mg/m2/h"), of(1, "h"))
    with pytest.raises(WrongKind):
        over_time(of(100, "mL/h"), of(1, "h"))


@pytest.mark.parametrize(("target", "dose"), [(6, 900), (5, 750), (4, 600)])  # WX062 to WX064
def test_calvert_at_the_cap(target: int, dose: int) -> None:
    assert calvert(D(target), of(140, "mL/min")).amount == of(dose, "mg")
    assert calvert(D(target), of(125, "mL/min")).amount == of(dose, "mg")
    assert calvert(D(5), of(60, "mL/min")).amount == of(425, "mg")
    with pytest.raises(OutOfRange):
        calvert(D(50), of(60, "mL/min"))


def test_a_cap_is_never_rounded_up() -> None:
    assert capped(of(2200, "mg"), of(2, "g")).amount == of(2, "g")
    assert capped(of(1900, "mg"), of(2, "g")).amount == of(1900, "mg")


def test_rounding_to_a_vial_only_within_its_percent() -> None:
    assert rounded_to_vial(of(482, "mg"), of(100, "mg"), D(10)).amount == of(500, "mg")
    with pytest.raises(NotRoundable) as refused:
        rounded_to_vial(of(440, "mg"), of(100, "mg"), D(5))
    assert "9.09 %" in refused.value.sentence


def test_limits_are_inclusive_and_say_whom_to_ask() -> None:
    check_limits("x", of(2, "g"), of(2, "g"), of(2000, "mg"))
    with pytest.raises(OverDoseLimit, match="prescriber"):
        check_limits("x", of("2000.001", "mg"), None, of(2, "g"))
    with pytest.raises(UnderDoseLimit):
        check_limits("x", of(1, "mg"), of(2, "mg"), None)
