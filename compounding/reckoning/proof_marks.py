"""Second arithmetic of the syringes: every draw at a mark, within fill, and stated no better than it is."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from compounding.reckoning.plain_amounts import in_ml, plain_number
from compounding.reckoning.refusals import NotProved

# stored parts of an error budget are rounded to 0.01 percent
_SLACK = Fraction(1, 100)


@dataclass(frozen=True)
class Rules:
    """What policy says of draws, in mL and shares of one."""

    stock: frozenset[tuple[Fraction, Fraction]]
    half_marks_from: Fraction
    least_fill: Fraction
    most_fill: Fraction
    rounding_limit: Fraction

    def step(self, draw: dict[str, Any]) -> Fraction:
        """Return the step a draw's syringe is read to: its mark, or half of a coarse one."""
        mark = in_ml(draw["syringe"]["mark"])
        return mark / 2 if mark >= self.half_marks_from else mark


def rules_of(policy: dict[str, Any], hazardous: bool) -> Rules:
    """Return the rules of a stored policy; a hazardous preparation fills no syringe above its own limit."""
    return Rules(
        stock=frozenset((in_ml(one["size"]), in_ml(one["mark"])) for one in policy["syringes"]),
        half_marks_from=in_ml(policy["half_marks_from"]),
        least_fill=Fraction(policy["least_fill_percent"]) / 100,
        most_fill=Fraction(policy["hazardous_fill_percent"]) / 100 if hazardous else Fraction(1),
        rounding_limit=Fraction(policy["rounding_limit_percent"]) / 100,
    )


def check_draw(draw: dict[str, Any], rules: Rules) -> None:
    """Check one draw: its syringe is of stock, its target at a mark and within fill, its error as stated."""
    top, mark = in_ml(draw["syringe"]["size"]), in_ml(draw["syringe"]["mark"])
    target, required, step = in_ml(draw["target"]), in_ml(draw["required"]), rules.step(draw)
    total = sum((in_ml(portion["volume"]) for portion in draw["sources"]), Fraction(0))
    checks = (
        ("the syringe", (top, mark) in rules.stock, "none of stock", draw["syringe"]["size"]),
        ("the mark", not target % step, "no mark there", draw["target"]),
        ("the mark", 2 * abs(target - required) <= step, "a nearer one", draw["target"]),
        ("the fill", top * rules.least_fill <= target <= top * rules.most_fill, "it unfit", draw["target"]),
        ("the sum of portions", total == target, plain_number(total), draw["target"]),
    )
    for what, holds, found, expected in checks:
        if not holds:
            raise NotProved(what=f"{what} of draw {draw['number']}", found=found, expected=expected)
    if not _is_error_as_stated(draw["syringe"]["size"], draw["required"], draw["target"], **draw["error"]):
        raise NotProved(
            what=f"the error of draw {draw['number']}", found="another", expected=str(draw["error"])
        )


@lru_cache(maxsize=1024)
def _is_error_as_stated(size: str, required: str, target: str, **stated: str) -> bool:
    """Tell whether an error budget is right: rounding, tolerance (ISO 7886-1 Table 1, written anew), sums."""
    top, wanted, drawn = in_ml(size), in_ml(required), in_ml(target)
    small = top < 5
    if drawn * 2 < top:
        off = top * Fraction(3, 200) + drawn * Fraction(2 if small else 1, 100)
    else:
        off = drawn * Fraction(5 if small else 4, 100)
    error = {name: Fraction(part) for name, part in stated.items()}
    rounding, instrument, strength = abs(drawn - wanted) / wanted * 100, off / drawn * 100, error["strength"]
    squares = rounding**2 + instrument**2 + strength**2
    return (
        abs(error["rounding"] - rounding) <= _SLACK
        and abs(error["instrument"] - instrument) <= _SLACK
        and abs(error["worst"] - rounding - instrument - strength) <= _SLACK
        and max(error["expected"] - _SLACK, Fraction(0)) ** 2 <= squares <= (error["expected"] + _SLACK) ** 2
    )
