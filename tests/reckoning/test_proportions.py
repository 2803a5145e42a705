"""The small sums. Published cases run in test_worked_examples.py; here what is refused, and the working."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.reckoning import proportions
from compounding.reckoning.dilution import alligation
from compounding.reckoning.quantities import number_in, of, round_half_up
from compounding.reckoning.refusals import NotConvertible, OutOfRange

D = Decimal


def test_the_working_is_written() -> None:
    # arithmetic, common practice, no source
    worked = [
        proportions.weight_of_pounds(D(154), D("2.2")),
        proportions.dose_by_surface(of(375, "mg/m2"), of("2.08", "m2")),
        proportions.volume_to_add(of("4.5", "%"), of(1000, "mL"), of(0, "%"), of("0.9", "%")),
        proportions.by_factor(of(2, "g"), of("0.00465", "mEq/mg")),
        proportions.content_of_drop(of(2000, "units/mL"), of(12, "gtt/mL")),
        proportions.total_of((of(1, "g"), of(500, "mg"))),
        proportions.left_of(of(1, "L"), (of(750, "mL"),)),
    ]
    assert [line.text for one in worked for line in one.lines] == [
        "154 lb ÷ 2.2 lb/kg = 70 kg",
        "375 mg/m2 × 2.08 m2 = 780 mg",
        "1,000 mL × 9 ÷ 36 = 250 mL",
        "2 g × 0.00465 mEq/mg = 9.3 mEq",
        "2,000 units/mL ÷ 12 gtt/mL = 166.67 units",
        "1 g + 500 mg = 1.5 g",
        "1 L − 750 mL = 0.25 L",
    ]


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(OutOfRange, match="A weight in pounds cannot be 0"):
        proportions.weight_of_pounds(D(0), D("2.2"))
    with pytest.raises(OutOfRange, match="The pounds in a kg cannot be 0"):
        proportions.weight_of_pounds(D(154), D(0))
    with pytest.raises(OutOfRange, match="one between 50 % and 95 %"):
        proportions.parts_of_weaker(of(95, "%"), of(50, "%"), of(50, "%"))
    with pytest.raises(OutOfRange, match="one between 5 % and 10 %"):
        proportions.volume_to_add(of(10, "%"), of(100, "mL"), of(5, "%"), of(10, "%"))
    with pytest.raises(OutOfRange, match="taken of 1 L cannot be more than it"):
        proportions.left_of(of(1, "L"), (of(750, "mL"), of(251, "mL")))


def test_kinds_do_not_meet() -> None:
    with pytest.raises(NotConvertible):
        proportions.total_of((of(1, "g"), of(1, "mEq")))
    with pytest.raises(NotConvertible):
        proportions.by_factor(of(2, "mmol"), of("0.465", "mEq/mg"))
    with pytest.raises(NotConvertible):
        proportions.dose_by_surface(of(5, "mg/kg"), of("1.8", "m2"))


strength = st.integers(1, 99)


@given(strength, strength, strength)
def test_parts_are_those_of_alligation(one: int, two: int, three: int) -> None:
    low, middle, high = sorted((one, two, three))
    if not low < middle < high:
        return
    parts = proportions.parts_of_weaker(of(high, "%"), of(low, "%"), of(middle, "%"))
    strong, weak = (
        number_in(worked.amount, "mL")
        for worked in alligation(of(high, "%"), of(low, "%"), of(middle, "%"), of(100, "mL"))
    )
    assert round_half_up(strong * parts - weak, D("0.0000000001")) == 0


def test_a_share_is_of_the_whole() -> None:
    assert proportions.share_percent(of(250, "mg"), of(1, "g")) == 25
