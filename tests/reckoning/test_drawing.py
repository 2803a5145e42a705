"""Which syringe, which mark. Outside source: published practice of fill and marks (standards.md section
5).
"""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from prepared_orders import stricter

from compounding.reckoning.drawing import Demands, demands_of, fills_for
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import of
from compounding.reckoning.refusals import NotMeasurable


def drawn(volume: str, hazardous: bool = False, **limits: Any) -> list[tuple[str, str]]:
    fills = fills_for(of(volume, "mL"), demands_of(stricter(**limits), hazardous))
    return [(f"{fill.target.normalize():f}", f"{fill.size.top:f}") for fill in fills]


@pytest.mark.parametrize(
    ("volume", "target", "size"),
    [
        ("18", "18", "30"),  # published: 18 mL goes into a 30 mL syringe, not a 20
        ("22", "22", "30"),
        ("25", "25", "30"),  # 60 mL: 4.6 percent, 30 mL: 4 percent
        ("20", "20", "30"),
        ("4", "4", "5"),
        ("10", "10", "20"),
        ("1", "1", "1"),
        ("2.5", "2.5", "3"),
        ("12.5", "12.5", "20"),  # half a mark from 1 mL marks on
        ("6.0606060606", "6", "10"),
        ("36.145", "36", "60"),  # worked example WX369 (page): 36.145 mL is drawn as 36 mL
        ("0.27", "0.27", "1"),
        ("9.6", "9.6", "10"),
        ("60.2", "60", "60"),
    ],
)
def test_one_volume_goes_into_one_syringe_at_a_mark(volume: str, target: str, size: str) -> None:
    assert drawn(volume) == [(target, size)]


def test_two_sizes_only_when_one_mark_breaks_policy() -> None:
    # published: 21.7 mL = 21 mL (30 mL syringe) + 0.7 mL (1 mL syringe)
    assert drawn("21.7") == [("21.5", "30")]
    assert drawn("21.7", rounding_limit_percent=Decimal("0.5")) == [("21", "30"), ("0.7", "1")]


def test_over_the_largest_the_draws_are_equal_and_fewest() -> None:
    assert drawn("70") == [("35", "60")] * 2
    assert drawn("101") == [("50.5", "60")] * 2
    assert drawn("230") == [("57.5", "60")] * 4
    assert drawn("70", hazardous=True) == [("35", "60")] * 2
    assert drawn("101", hazardous=True) == [("33.5", "60")] * 3


def test_where_equal_marks_break_policy_the_last_takes_the_rest() -> None:
    tight = Decimal("0.1")
    assert drawn("100.3", rounding_limit_percent=tight) == [("50", "60"), ("50", "60"), ("0.3", "1")]
    assert drawn("100.5", rounding_limit_percent=tight) == [("50", "60"), ("50.5", "60")]


def test_a_hazardous_drug_takes_the_larger_syringe() -> None:
    assert drawn("20", hazardous=True) == [("20", "30")]  # 75 percent of 30 mL is 22.5 mL
    assert drawn("25", hazardous=True) == [("25", "60")]
    assert drawn("4", hazardous=True) == [("4", "10")]


@pytest.mark.parametrize(
    ("volume", "limits", "why"),
    [
        ("0.05", {}, "is used from 0.2 mL up"),
        ("0.19", {}, "is used from 0.2 mL up"),
        ("100.333", {"rounding_limit_percent": Decimal(0)}, "no set of draws"),
        ("0.2", {"instrument_limit_percent": Decimal(5)}, "expected error is 9.5 %"),
        ("0.234", {"rounding_limit_percent": Decimal(1)}, "1.71 % off"),
        ("2500", {}, "more than 40 syringes"),
    ],
)
def test_what_cannot_be_measured_is_refused_with_the_reason(
    volume: str, limits: dict[str, Decimal], why: str
) -> None:
    with pytest.raises(NotMeasurable) as refused:
        drawn(volume, **limits)
    assert why in refused.value.sentence


def test_a_formulation_may_be_stricter_than_policy() -> None:
    strict = Demands(Policy(), demands_of(Policy()).sizes, instrument_limit=Decimal(5))
    assert fills_for(of(1, "mL"), strict)[0].size.top == 1
    with pytest.raises(NotMeasurable):
        fills_for(of("0.4", "mL"), strict)


@given(st.decimals("0.2", "400", places=3), st.booleans())
def test_draws_re_add_to_the_order_within_the_rounding_stated(volume: Decimal, hazardous: bool) -> None:
    policy = Policy()
    try:
        fills = fills_for(of(volume, "mL"), demands_of(policy, hazardous))
    except NotMeasurable:
        return
    total = sum(fill.target for fill in fills)
    assert abs(total - volume) / volume * 100 <= policy.rounding_limit_percent
    assert abs(sum(fill.required for fill in fills) - volume) < Decimal("1E-20")
    for fill in fills:
        assert fill.size.may_hold(fill.target)
        assert fill.target % fill.size.step == 0
        assert abs(fill.target - fill.required) * 2 <= fill.size.step


@given(st.decimals("0.5", "60", places=2))
def test_every_volume_of_the_bench_is_measurable(volume: Decimal) -> None:
    assert fills_for(of(volume, "mL"), demands_of(Policy()))
