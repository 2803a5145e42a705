"""The second arithmetic of one draw: how far its stated error may be from the true one.

Tolerances: ISO 7886-1 Table 1 (rows of 1 mL and 10 mL page, the others memory; standards.md section 5). Parts
are stored to 0.01 percent, so that is how far each may be off.
"""

from typing import Any

import pytest

from compounding.reckoning.policy import Policy
from compounding.reckoning.proof_marks import check_draw, rules_of
from compounding.reckoning.refusals import NotProved
from compounding.reckoning.worksheet import plain_of

RULES = rules_of(plain_of(Policy()), hazardous=False)
# 6 mL in 10 mL is 4 percent off; strength 3; worst 0 + 4 + 3; expected √(16 + 9)
RIGHT = {"rounding": "0", "instrument": "4", "strength": "3", "worst": "7", "expected": "5"}


def draw(size: str, mark: str, target: str, error: dict[str, str], required: str = "") -> dict[str, Any]:
    return {
        "number": 1,
        "syringe": {"size": f"{size} mL", "mark": f"{mark} mL"},
        "required": f"{required or target} mL",
        "target": f"{target} mL",
        "sources": [{"container": "vial 1", "volume": f"{target} mL"}],
        "error": error,
    }


def is_right(one: dict[str, Any]) -> bool:
    try:
        check_draw(one, RULES)
    except NotProved as refused:
        return refused.facts["what"] != "the error of draw 1"
    return True


@pytest.mark.parametrize(
    ("part", "within", "beyond"),
    [
        ("rounding", "0.01", "0.0101"),
        ("instrument", "4.01", "4.0101"),
        ("instrument", "3.99", "3.9899"),
        ("worst", "7.01", "7.0101"),
        ("worst", "6.99", "6.9899"),
        ("expected", "5.01", "5.0101"),
        ("expected", "4.99", "4.9899"),
    ],
)
def test_each_part_may_be_off_by_a_hundredth_of_a_percent(part: str, within: str, beyond: str) -> None:
    assert is_right(draw("10", "0.2", "6", {**RIGHT, part: within}))
    assert not is_right(draw("10", "0.2", "6", {**RIGHT, part: beyond}))


@pytest.mark.parametrize(
    ("size", "mark", "target", "percent"),
    [
        ("1", "0.01", "0.2", "9.5"),  # (1.5 % × 1 + 2 % × 0.2) ÷ 0.2
        ("1", "0.01", "0.5", "5"),
        ("3", "0.1", "1", "6.5"),  # (1.5 % × 3 + 2 % × 1) ÷ 1
        ("3", "0.1", "2", "5"),
        ("5", "0.2", "1", "8.5"),  # (1.5 % × 5 + 1 % × 1) ÷ 1
        ("5", "0.2", "2.6", "4"),
        ("60", "1", "20", "5.5"),  # (1.5 % × 60 + 1 % × 20) ÷ 20
    ],
)
def test_the_table_of_the_standard_written_anew(size: str, mark: str, target: str, percent: str) -> None:
    right = {"rounding": "0", "instrument": percent, "strength": "0", "worst": percent, "expected": percent}
    assert is_right(draw(size, mark, target, right))
    assert not is_right(draw(size, mark, target, {**right, "instrument": "4.02", "worst": "4.02"}))


def test_rounding_is_in_percent_of_what_is_required() -> None:
    # 8 mL for 8.1 mL: 0.1 ÷ 8.1 = 1.2346 percent; with 4: worst 5.2346, expected √(1.524 + 16) = 4.1862
    right = {"rounding": "1.23", "instrument": "4", "strength": "0", "worst": "5.23", "expected": "4.19"}
    assert is_right(draw("10", "0.2", "8", right, required="8.1"))
    flattered = {**right, "rounding": "1.25", "worst": "5.25"}
    assert not is_right(draw("10", "0.2", "8", flattered, required="8.1"))
