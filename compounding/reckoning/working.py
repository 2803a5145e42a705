"""Working: the lines a pharmacist would write beside a result, made where the number is made."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import Quantity, round_half_up, write, write_number
from compounding.reckoning.worksheet import Line

_ONE, _TENTH, _HUNDREDTH = Decimal(1), Decimal("0.1"), Decimal("0.01")


@dataclass(frozen=True)
class Worked:
    """An amount, unrounded, and how it was come by."""

    amount: Quantity
    lines: tuple[Line, ...]


def places_for(number: Decimal) -> int:
    """Return how many decimals a line of working shows: two from 1 upwards, more for what is small."""
    size = abs(number)
    if size >= _ONE or not size:
        return 2
    return 3 if size >= _TENTH else 4 if size >= _HUNDREDTH else 6


def short(amount: Quantity) -> str:
    """Return an amount for a line of working, rounded for reading only: `6.06 mL`."""
    return write(amount, places_for(amount.magnitude))


def short_number(number: Decimal) -> str:
    """Return a bare number for a line of working."""
    return write_number(number, places_for(number))


def short_percent(number: Decimal) -> str:
    """Return a percent for a line of working or a sentence: `1.3`."""
    return write_number(number, 2)


def significant(number: Decimal, figures: int = 4) -> Decimal:
    """Return a number to so many significant figures, half up; exact where it has fewer."""
    step = Decimal(1).scaleb(number.adjusted() - figures + 1)
    return round_half_up(number, step)
