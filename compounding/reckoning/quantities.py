"""Amounts: a number that keeps its unit and its kind, read and written by one set of rules.

Written as ISMP asks (`1,250 mg`, `0.5 mL`, `mcg`, `units`): a space before the unit, a comma from 1,000
upwards, no trailing zero, no naked point (error-prone list, standards.md section 7). Read strictly, see
reading.py. Mass, volume, units of activity, mEq, mmol, mOsmol, body weight and body surface are kinds of
their own. Nothing here is a float: a float anywhere is a TypeError.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal

from pint import DimensionalityError

from compounding.reckoning.reading import read_amount, read_plain_number
from compounding.reckoning.refusals import NotAnAmount, NotConvertible, WrongKind
from compounding.reckoning.units import (
    CODES,
    EXAMPLES,
    WIDER,
    Kind,
    Quantity,
    code_of,
    is_in,
    kind_of,
    unit_of,
)

__all__ = [
    "Kind", "Quantity", "code_of", "convert", "is_of_kind", "kind_of", "number_in", "of", "read",
    "read_number", "restore", "round_half_up", "store", "write", "write_number",
]  # fmt: skip

_EXACT = re.compile(r"-?[0-9]+(\.[0-9]+)?", re.ASCII)
_FINEST = Decimal("0.000001")


def of(number: Decimal | int | str, unit: str) -> Quantity:
    """Return an amount from code or reviewed data: `of("1.5", "mL")`, `of(5, "mg/kg")`. Not for what people
    type.

    A float, a text that is no plain number or a unit off the list is a fault of the program (TypeError,
    ValueError, KeyError).
    """
    return Quantity(_decimal(number), unit_of(unit))


def read(text: str, kind: Kind | None = None, grouping: bool = False) -> Quantity:
    """Return the amount a person wrote; with `kind`, only an amount of that kind.

    `grouping` allows `2,500` as files write it. Raises the Unreadable refusals and WrongKind.
    """
    try:
        number, code = read_amount(text, grouping)
    except NotAnAmount as refusal:
        if kind is None:
            raise
        raise NotAnAmount(text=refusal.facts["text"], example=EXAMPLES[kind]) from None
    amount = of(number, code)
    if kind is not None and not is_of_kind(amount, kind):
        raise WrongKind(amount=write(amount), is_kind=kind_of(amount), kind=kind, example=EXAMPLES[kind])
    return amount


def read_number(text: str, unit: str) -> Quantity:
    """Return the amount of a bare number whose unit is known (`2.5` on the keypad of a syringe is 2.5 mL)."""
    return of(read_plain_number(text), unit)


def is_of_kind(amount: Quantity, kind: Kind) -> bool:
    """Tell whether an amount is of a kind, or of one that a wider kind (CONTENT, DOSE) covers."""
    return kind_of(amount) in WIDER.get(kind, (kind,))


def convert(amount: Quantity, unit: str) -> Quantity:
    """Return the same amount in another unit of its kind. Raises NotConvertible, naming both sides."""
    return Quantity(number_in(amount, unit), unit_of(unit))


def number_in(amount: Quantity, unit: str) -> Decimal:
    """Return how many of `unit` the amount is, exactly. Raises NotConvertible, naming both sides."""
    wanted = unit_of(unit)
    if is_in(amount, wanted):
        return amount.magnitude
    try:
        return Decimal(amount.m_as(wanted))
    except DimensionalityError:
        raise NotConvertible(
            amount=write(amount), is_kind=kind_of(amount), unit=unit, kind=CODES[unit][1]
        ) from None


def round_half_up(number: Decimal, step: Decimal) -> Decimal:
    """Return the multiple of `step` nearest to a number; a half goes up (published answers do,
    worked_examples.md).
    """
    return (number / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step


def write_number(number: Decimal, places: int | None = None) -> str:
    """Return a number as ISMP asks: `1,250`, `0.5`. Half up to `places`, else exact up to six decimals.

    A number that is not zero is never written as 0: it keeps its digits instead.
    """
    step = _FINEST if places is None else Decimal(1).scaleb(-places)
    rounded = round_half_up(number, step)
    return _trimmed(f"{rounded if rounded or not number else number:,f}")


def write(amount: Quantity, places: int | None = None) -> str:
    """Return an amount as ISMP asks: `1,250 mg`, `0.5 mL`, `10,000 units`, `5 mcg/kg/min`."""
    number = write_number(amount.magnitude, places)
    code = code_of(amount)
    first, _, rest = code.partition("/")
    if number == "1" and first == "units":
        first = "unit"
    elif number != "1" and first == "day":
        first = "days"
    return f"{number} {first}/{rest}" if rest else f"{number} {first}"


def store(amount: Quantity) -> str:
    """Return an amount as lossless text for JSON: `22 mL`."""
    return f"{_trimmed(format(amount.magnitude, 'f'))} {code_of(amount)}"


def restore(text: str) -> Quantity:
    """Return the amount that `store` wrote. Any other text is a fault of the program (ValueError,
    KeyError).
    """
    number, _, code = text.partition(" ")
    return of(number, code)


def _decimal(number: Decimal | int | str) -> Decimal:
    """Return an exact, finite number."""
    if isinstance(number, bool) or not isinstance(number, Decimal | int | str):
        raise TypeError(f"an amount is never made of {type(number).__name__}")
    if isinstance(number, str) and not _EXACT.fullmatch(number):
        raise ValueError(f"not a plain number: {number[:40]!r}")
    exact = Decimal(number)
    if not exact.is_finite():
        raise ValueError("an amount is finite")
    return exact


def _trimmed(text: str) -> str:
    """Return digits without zeros at the end of the decimals."""
    return text.rstrip("0").rstrip(".") if "." in text else text
