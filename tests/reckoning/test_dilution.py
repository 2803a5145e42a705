"""Dilution. Outside sources: worked examples WX096 to WX380 (page read)."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.reckoning.dilution import advice, alligation, diluted_strength, find_ladder, stock_volume
from compounding.reckoning.drawing import demands_of
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import number_in, of, round_half_up
from compounding.reckoning.refusals import NoDilution, OutOfRange

D = Decimal


@pytest.mark.parametrize(
    ("stock", "wanted", "total", "volume"),
    [
        (of(30, "%"), of(12, "%"), "60", "24"),  # WX098
        (of(25, "mg/mL"), of(10, "mg/mL"), "200", "80"),  # WX100
        (of("23.4", "%"), of(2, "%"), "1000", "85.47"),  # WX104
        (of(100, "mg/mL"), of(25, "mg/mL"), "12", "3"),  # WX380
    ],
)
def test_stock_for_a_weaker_solution(stock: object, wanted: object, total: str, volume: str) -> None:
    found = stock_volume(stock, wanted, of(total, "mL")).amount  # type: ignore[arg-type]
    assert round_half_up(found.magnitude, D("0.01")) == D(volume)


def test_nothing_is_made_stronger_by_dilution() -> None:
    with pytest.raises(OutOfRange):
        stock_volume(of(10, "mg/mL"), of(20, "mg/mL"), of(10, "mL"))


def test_serial_dilution() -> None:
    strength = of(250, "mg/mL")
    for volume, expected in (("0.1", "25"), ("0.1", "2.5"), ("0.2", "0.5")):  # WX109 to WX111
        strength = diluted_strength(strength, of(volume, "mL"), of(1, "mL")).amount
        assert strength == of(expected, "mg/mL")


def test_alligation() -> None:
    strong, weak = alligation(of(10, "%"), of(5, "%"), of("8.5", "%"), of(150, "mL"))
    assert (strong.amount, weak.amount) == (of(105, "mL"), of(45, "mL"))  # WX102, WX103
    strong, weak = alligation(of(95, "%"), of(50, "%"), of(70, "%"), of(90, "mL"))
    assert weak.amount.magnitude / strong.amount.magnitude == D("1.25")  # WX096: 4 : 5 parts
    for wanted in (of(5, "%"), of(4, "%"), of(10, "%"), of(11, "%")):
        with pytest.raises(OutOfRange):
            alligation(of(10, "%"), of(5, "%"), wanted, of(150, "mL"))


def test_a_ladder_measures_what_no_syringe_draws() -> None:
    # 0.5 mg of 10 mg/mL is 0.05 mL, below every syringe
    demands = demands_of(Policy())
    found = find_ladder(of("0.5", "mg"), of(10, "mg/mL"), demands)
    assert found.stock.target + found.diluent.target == D(10) * found.stock.target / number_in(
        found.strength, "mg/mL"
    )
    given_mg = found.draw.target * number_in(found.strength, "mg/mL")
    assert abs(given_mg - D("0.5")) / D("0.5") * 100 <= 2
    assert found.expected <= 10
    assert "draw" in advice(of("0.5", "mg"), of(10, "mg/mL"), demands)


def test_where_no_ladder_serves_it_says_so() -> None:
    demands = demands_of(Policy())
    with pytest.raises(NoDilution, match="weaker product"):
        find_ladder(of("0.0001", "mg"), of(1000, "mg/mL"), demands)
    assert "No intermediate dilution" in advice(of("0.0001", "mg"), of(1000, "mg/mL"), demands)


@given(st.decimals("0.01", "0.199", places=3))
def test_every_rung_is_on_a_mark_and_within_policy(volume: Decimal) -> None:
    demands = demands_of(Policy())
    try:
        found = find_ladder(of(volume * 10, "mg"), of(10, "mg/mL"), demands)
    except NoDilution:
        return
    for fill in (found.stock, found.diluent, found.draw):
        assert fill.target % fill.size.step == 0
        assert fill.size.may_hold(fill.target)
    assert found.stock.error.rounding == found.diluent.error.rounding == 0
    assert found.rounding <= 2
    assert found.draw.target <= found.stock.target + found.diluent.target
