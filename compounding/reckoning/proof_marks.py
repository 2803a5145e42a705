"""Second arithmetic of the syringes: every draw at a mark, within fill, and stated no better than it is."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from compounding.reckoning.plain_amounts import in_ml, plain_number
from compounding.reckoning.refusals import NotProved

# stored parts of an error budget are rounded to 0.01 percent
_BUDGET_SLACK = Fraction(1, 200)


def check_draw(draw: dict[str, Any], policy: dict[str, Any], hazardous: bool) -> None:
    """Check one draw against policy: its syringe is of stock, its target at a mark, its error as stated."""
    top, mark = in_ml(draw["syringe"]["size"]), in_ml(draw["syringe"]["mark"])
    target, required = in_ml(draw["target"]), in_ml(draw["required"])
    name = f"draw {draw['number']}"
    stock = {(in_ml(one["size"]), in_ml(one["mark"])) for one in policy["syringes"]}
    if (top, mark) not in stock:
        raise NotProved(
            what=f"the syringe of {name}", found="none of stock", expected=draw["syringe"]["size"]
        )
    step = step_of(draw, policy)
    if target % step:
        raise NotProved(what=f"the mark of {name}", found="no mark there", expected=draw["target"])
    if abs(target - required) > step / 2:
        raise NotProved(what=f"the mark of {name}", found="a nearer one", expected=draw["target"])
    most = top * Fraction(policy["hazardous_fill_percent"]) / 100 if hazardous else top
    if not top * Fraction(policy["least_fill_percent"]) / 100 <= target <= most:
        raise NotProved(what=f"the fill of {name}", found="outside the limits", expected=draw["target"])
    total = sum((in_ml(portion["volume"]) for portion in draw["sources"]), Fraction(0))
    if total != target:
        raise NotProved(what=f"the portions of {name}", found=plain_number(total), expected=draw["target"])
    _check_error(draw, top, target, required)


def step_of(draw: dict[str, Any], policy: dict[str, Any]) -> Fraction:
    """Return the step a draw's syringe is read to: its mark, or half of a coarse one."""
    mark = in_ml(draw["syringe"]["mark"])
    return mark / 2 if mark >= in_ml(policy["half_marks_from"]) else mark


def _check_error(draw: dict[str, Any], top: Fraction, target: Fraction, required: Fraction) -> None:
    """Check rounding and tolerance of a draw (ISO 7886-1 Table 1, written a second time), and their sums."""
    rounding = abs(target - required) / required * 100
    small = top < 5
    if target * 2 < top:
        off = top * Fraction(3, 200) + target * Fraction(2 if small else 1, 100)
    else:
        off = target * Fraction(5 if small else 4, 100)
    error = {name: Fraction(part) for name, part in draw["error"].items()}
    parts = (("rounding", rounding), ("instrument", off / target * 100))
    squares = sum((part * part for _, part in parts), error["strength"] ** 2)
    worst = rounding + off / target * 100 + error["strength"]
    for name, exact in (*parts, ("worst", worst)):
        if abs(error[name] - exact) > 2 * _BUDGET_SLACK:
            raise NotProved(
                what=f"the {name} error of draw {draw['number']}",
                found=f"{plain_number(exact)} %",
                expected=f"{plain_number(error[name])} %",
            )
    low, high = error["expected"] - 2 * _BUDGET_SLACK, error["expected"] + 2 * _BUDGET_SLACK
    if not max(low, Fraction(0)) ** 2 <= squares <= high**2:
        raise NotProved(
            what=f"the expected error of draw {draw['number']}",
            found="another root of the sum of squares",
            expected=f"{plain_number(error['expected'])} %",
        )
