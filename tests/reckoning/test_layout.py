"""Volumes become draws from containers: they re-add, on marks, and no container gives more than it holds."""

from decimal import Decimal
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st
from prepared_orders import (
    ACYCLOVIR,
    AMINOPHYLLINE,
    CEFAZOLIN,
    VANCOMYCIN,
    bag,
    draws,
    ingredient,
    order,
    stricter,
    vancomycin,
)

from compounding.reckoning.quantities import Quantity, number_in, of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import (
    CannotBeMade,
)

D = Decimal


def test_a_draw_over_the_largest_syringe_is_split_over_vials() -> None:
    sheet = reckon(vancomycin("3500", vehicle=bag(500)))
    assert draws(sheet)[-2:] == [
        "drug 35 mL in 60 mL: vial 1 20 mL + vial 2 15 mL -> bag",
        "drug 35 mL in 60 mL: vial 2 5 mL + vial 3 20 mL + vial 4 10 mL -> bag",
    ]
    assert sheet.transfers[-1].required == of(70, "mL")


def test_half_marks_are_policy() -> None:
    asked = vancomycin(policy=stricter(half_marks_from=of(2, "mL")))
    # without half marks 12.5 mL from each vial is not at a mark, so the first gives all its 20 mL
    assert draws(reckon(asked))[-1] == "drug 25 mL in 30 mL: vial 1 20 mL + vial 2 5 mL -> bag"


@given(
    dose=st.integers(100, 6000),
    units=st.integers(1, 4),
    volume=st.sampled_from([100, 250, 500, 1000]),
    method=st.sampled_from(["policy", "add only", "withdraw equal", "withdraw additive and overfill"]),
    product=st.sampled_from([VANCOMYCIN, CEFAZOLIN, ACYCLOVIR, AMINOPHYLLINE]),
    hazardous=st.booleans(),
)
def test_what_is_drawn_re_adds_to_the_order(
    dose: int, units: int, volume: int, method: str, product: Any, hazardous: bool
) -> None:
    asked = order(
        ingredient(product, of(dose, "mg"), hazardous=hazardous), vehicle=bag(volume, volume // 20, 10**5),
        method=method, units=units,
    )  # fmt: skip
    try:
        sheet = reckon(asked)
    except CannotBeMade:
        assume(False)
        raise
    for unit in range(1, units + 1):
        drawn = [draw for draw in sheet.transfers[-1].draws if draw.turn == unit]
        total = sum((number_in(draw.target, "mL") for draw in drawn), D(0))
        assert abs(total * number_in(product.strength, "mg/mL") - dose) / dose * 100 <= 2
        assert sum((number_in(one.volume, "mL") for draw in drawn for one in draw.sources), D(0)) == total
    boxes = [one for one in sheet.containers if one.role == "drug"]
    taken: dict[str, Quantity] = {}
    for draw in sheet.transfers[-1].draws:
        for one in draw.sources:
            taken[one.container] = taken.get(one.container, of(0, "mL")) + one.volume
    assert set(taken) == {box.key for box in boxes}
    assert all(number_in(each, "mL") <= number_in(product.withdrawable, "mL") for each in taken.values())
