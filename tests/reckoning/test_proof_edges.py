"""The second arithmetic at its edges: what is just within is proved, what is just beyond is not.

Every number is worked by hand beside its case. (Source: the order itself, by other means; tolerances: ISO
7886-1 Table 1, standards.md section 5.)
"""

from fractions import Fraction
from typing import Any

import pytest
from planted_faults import FILLED, LARGE, PAIR, POWDER, TIGHT, TWO_POWDERS, WITHDRAWN, Plain
from prepared_orders import AMINOPHYLLINE, bag, ingredient, order, powder, solution, stricter

from compounding.reckoning.plain_amounts import plain_number
from compounding.reckoning.policy import Policy
from compounding.reckoning.proof import prove
from compounding.reckoning.proof_marks import Rules, rules_of
from compounding.reckoning.proof_order import plan_of
from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import NotProved
from compounding.reckoning.worksheet import Syringe, plain_of, to_plain

F = Fraction
# 3.5 g are 70 mL: out and in as 35 and 35, with the 0.5 mL step of 60 mL four times
OUT_AND_IN = order(ingredient(LARGE, of(3500, "mg")), vehicle=bag(500, 40, 600), method="withdraw equal")


def proof_of(request: Any, **changes: Any) -> list[tuple[str, str]]:
    return list(prove({**to_plain(reckon(request)), **changes}, plain_of(request)))


def is_proved(sheet: Plain, request: Plain) -> bool:
    try:
        prove(sheet, request)
    except NotProved:
        return False
    return True


@pytest.mark.parametrize(
    ("request_", "lines"),
    [
        (
            POWDER,  # 250 + 25 of overfill + 22
            [
                ("vancomycin in bag", "22 mL × 50 mg/mL = 1,100 mg; ordered 1,100 mg, 0 % off"),
                ("true volume of bag", "275 mL − 0 mL + 22 mL + 0 mL = 297 mL"),
            ],
        ),
        (
            WITHDRAWN,
            [
                ("aminophylline in bag", "20 mL × 25 mg/mL = 500 mg; ordered 500 mg, 0 % off"),
                ("true volume of bag", "108 mL − 20 mL + 20 mL + 0 mL = 108 mL"),
            ],
        ),
        (
            FILLED,
            [
                ("aminophylline in bag", "20 mL × 25 mg/mL = 500 mg; ordered 500 mg, 0 % off"),
                ("true volume of bag", "0 mL − 0 mL + 20 mL + 80 mL = 100 mL"),
            ],
        ),
        (
            PAIR,
            [
                ("ondansetron in each unit", "2 mL × 2 mg/mL = 4 mg; ordered 4 mg, 0 % off"),
                ("true volume of each unit", "0 mL − 0 mL + 2 mL + 0 mL = 2 mL"),
            ],
        ),
        (
            OUT_AND_IN,
            [
                ("large in bag", "70 mL × 50 mg/mL = 3,500 mg; ordered 3,500 mg, 0 % off"),
                ("true volume of bag", "540 mL − 70 mL + 70 mL + 0 mL = 540 mL"),
            ],
        ),
        (
            TWO_POWDERS,  # 990 ÷ 330 = 3 mL
            [
                ("vancomycin in bag", "20 mL × 50 mg/mL = 1,000 mg; ordered 1,000 mg, 0 % off"),
                ("cefazolin in bag", "3 mL × 330 mg/mL = 990 mg; ordered 990 mg, 0 % off"),
                ("true volume of bag", "500 mL − 0 mL + 23 mL + 0 mL = 523 mL"),
            ],
        ),
        (
            # 355 ÷ 25 = 14.2 mL, drawn at 14 (20 mL): 350 mg; 5 ÷ 355 = 1.408 percent
            order(ingredient(AMINOPHYLLINE, of(355, "mg")), vehicle=bag(500)),
            [
                ("aminophylline in bag", "14 mL × 25 mg/mL = 350 mg; ordered 355 mg, 1.41 % off"),
                ("true volume of bag", "500 mL − 0 mL + 14 mL + 0 mL = 514 mL"),
            ],
        ),
    ],
)
def test_the_proof_is_written_line_by_line(request_: Any, lines: list[tuple[str, str]]) -> None:
    assert proof_of(request_) == lines


def test_a_powder_may_take_its_diluent_in_two_draws() -> None:
    # 95 mL are two of 47.5 mL, from five diluent vials of 20 mL
    big = ingredient(powder("big 10 g", "10", "95", "100", "100"), of(5, "g"))
    lines = proof_of(order(big, vehicle=bag(1000)))
    assert lines[0] == ("big in bag", "50 mL × 100 mg/mL = 5,000 mg; ordered 5,000 mg, 0 % off")


@pytest.mark.parametrize("beyond", [F(1, 1000), F(-1, 1000)])
@pytest.mark.parametrize(
    ("request_", "true", "slack"),
    [
        (POWDER, 297, F("0.255")),  # one draw: half of 0.5 mL, and half of 0.01 mL
        (OUT_AND_IN, 540, F("1.005")),  # two draws out, two in
        (FILLED, 100, F("0.755")),  # one draw of drug, two to fill
    ],
)
def test_the_true_volume_may_be_off_by_half_a_step_of_each_draw(
    request_: Any, true: int, slack: Fraction, beyond: Fraction
) -> None:
    sign = 1 if beyond > 0 else -1
    within = plain_number(true + sign * slack)
    assert proof_of(request_, true_volume=f"{within} mL")
    with pytest.raises(NotProved, match="true volume"):
        proof_of(request_, true_volume=f"{plain_number(true + sign * slack + beyond)} mL")


def test_the_labelled_volume_is_the_orders_to_a_hundredth() -> None:
    for volume in ("272.005 mL", "271.995 mL"):
        assert proof_of(POWDER, final_volume=volume)
    for volume in ("272.006 mL", "271.994 mL"):
        with pytest.raises(NotProved, match="the volume of bag"):
            proof_of(POWDER, final_volume=volume)


def test_a_bag_may_be_full() -> None:
    sheet, asked = to_plain(reckon(POWDER)), plain_of(POWDER)
    for capacity, fits in (("297 mL", True), ("296.995 mL", True), ("296.994 mL", False)):
        asked["vehicle"]["capacity"] = capacity
        assert is_proved(sheet, asked) is fits
    with pytest.raises(NotProved) as refused:
        prove(sheet, asked)
    assert refused.value.facts == {
        "what": "the capacity of bag", "found": "296.994 mL", "expected": "297 mL",
    }  # fmt: skip


def test_the_overfill_may_be_withdrawn_too() -> None:
    # 1,200 mg ÷ 25 = 48 mL of the 50 + 5 that are in the bag
    drug = ingredient(AMINOPHYLLINE, of(1200, "mg"))
    lines = proof_of(order(drug, vehicle=bag(50, 5), method="withdraw equal"))
    assert lines[-1] == ("true volume of bag", "55 mL − 48 mL + 48 mL + 0 mL = 55 mL")


def test_rounding_may_be_just_the_limit() -> None:
    # 10 ÷ 1.02 = 9.8039 mL, drawn at 10 mL in the only size, 20 mL: 1.02 times, so 2 percent
    thin = solution("thin 102 mg", of(102, "mg"), "100", of("1.02", "mg/mL"))
    only = (Syringe(of(20, "mL"), of(1, "mL")),)
    policy = stricter(syringes=only, rounding_limit_percent=3)
    request = order(ingredient(thin, of(10, "mg")), vehicle=bag(500), policy=policy)
    sheet, asked = to_plain(reckon(request)), plain_of(request)
    for limit, proved in (("2", True), ("1.999", False)):
        asked["policy"]["rounding_limit_percent"] = limit
        assert is_proved(sheet, asked) is proved


def test_diluent_may_be_rounded_just_to_the_limit() -> None:
    # 6.25 mL, drawn at 6.5 mL in the only size, 20 mL: 0.25 ÷ 6.25 = 4 percent
    only = (Syringe(of(20, "mL"), of(1, "mL")),)
    drug = ingredient(powder("lump 1 g", "1", "6.25", "100", "10"), of(500, "mg"))
    policy = stricter(syringes=only, rounding_limit_percent=5)
    request = order(drug, vehicle=bag(500), policy=policy)
    sheet, asked = to_plain(reckon(request)), plain_of(request)
    for limit, proved in (("4", True), ("3.999", False)):
        asked["policy"]["rounding_limit_percent"] = limit
        assert is_proved(sheet, asked) is proved


def test_a_draw_may_be_half_a_step_from_the_order() -> None:
    # 862.5 mg ÷ 50 = 17.25 mL, half up 17.5 mL: 0.25 mL is half of 0.5 mL
    lines = proof_of(order(ingredient(LARGE, of("862.5", "mg")), vehicle=bag(500)))
    assert lines[0] == ("large in bag", "17.5 mL × 50 mg/mL = 875 mg; ordered 862.5 mg, 1.45 % off")


def test_stated_amounts_are_the_orders_to_one_part_in_so_many() -> None:
    # content: one in 10¹⁰ of 500 mg is 0.00000005 mg; concentration: one in 2,000 of 5 mg/mL is 0.0025
    cases = (
        ("dose", "500.00000005 mg", "500.000000051 mg"),
        ("dose", "499.99999995 mg", "499.999999949 mg"),
        ("concentration", "5.0025 mg/mL", "5.002501 mg/mL"),
        ("concentration", "4.9975 mg/mL", "4.997499 mg/mL"),
    )
    for fact, within, beyond in cases:
        sheet, asked = to_plain(reckon(WITHDRAWN)), plain_of(WITHDRAWN)
        sheet["ingredients"][0][fact] = within
        assert prove(sheet, asked)
        sheet["ingredients"][0][fact] = beyond
        with pytest.raises(NotProved):
            prove(sheet, asked)


def test_the_plan_is_the_orders() -> None:
    plan = plan_of(plain_of(TIGHT))
    assert [(one.substance, one.kind, one.volume) for one in plan.wanted] == [("large", "mass", F("21.7"))]
    assert (plan.withdrawn, plan.filled, plan.bag, plan.labelled) == (0, F("178.3"), 0, 200)
    into_bag = plan_of(plain_of(OUT_AND_IN))
    assert (into_bag.withdrawn, into_bag.filled, into_bag.bag, into_bag.overfill) == (70, 0, 500, 40)
    assert into_bag.labelled == 500
    assert plan_of(plain_of(POWDER)).labelled == 272


def test_a_powders_strength_is_that_of_its_label_once_dissolved() -> None:
    asked = plain_of(POWDER)
    asked["ingredients"][0]["product"]["strength"] = "1 mg/mL"
    assert plan_of(asked).wanted[0].strength == 50


def test_a_strength_of_another_kind_is_told() -> None:
    asked = plain_of(WITHDRAWN)
    asked["ingredients"][0]["product"]["strength"] = "2 mEq/mL"
    with pytest.raises(NotProved) as refused:
        plan_of(asked)
    assert refused.value.facts == {
        "what": "the strength of aminophylline", "found": "2 mEq/mL", "expected": "mass",
    }  # fmt: skip


def test_the_rules_are_the_policys() -> None:
    stock = {("1", "0.01"), ("3", "0.1"), ("5", "0.2"), ("10", "0.2"), ("20", "1"), ("30", "1"), ("60", "1")}
    plain = {"half_marks_from": F(1), "least_fill": F(1, 5), "rounding_limit": F(1, 50)}
    sizes = frozenset((F(size), F(mark)) for size, mark in stock)
    assert rules_of(plain_of(Policy()), hazardous=False) == Rules(stock=sizes, most_fill=F(1), **plain)
    assert rules_of(plain_of(Policy()), hazardous=True) == Rules(stock=sizes, most_fill=F(3, 4), **plain)


def test_a_syringe_may_hold_just_its_least_and_its_most() -> None:
    # 60 mL: from 12 mL to 60 mL, or to 45 mL
    only = stricter(syringes=(Syringe(of(60, "mL"), of(1, "mL")),))
    for dose, hazardous in (("600", False), ("3000", False), ("2250", True)):
        drug = ingredient(LARGE, of(dose, "mg"), hazardous=hazardous)
        assert proof_of(order(drug, vehicle=bag(1000), policy=only))
