"""Amounts of the second arithmetic: stored text such as `50 mg/mL` as exact fractions.

Written apart from quantities.py and borrowing nothing from it, so that a fault in one is not a fault in both.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from compounding.reckoning.refusals import NotProved

# unit as stored -> what it measures, how many of the base
_UNITS: dict[str, tuple[str, Fraction]] = {
    "ng": ("mass", Fraction(1, 1_000_000)),
    "mcg": ("mass", Fraction(1, 1000)),
    "mg": ("mass", Fraction(1)),
    "g": ("mass", Fraction(1000)),
    "mL": ("volume", Fraction(1)),
    "dL": ("volume", Fraction(100)),
    "L": ("volume", Fraction(1000)),
    "units": ("activity", Fraction(1)),
    "mEq": ("equivalent", Fraction(1)),
    "mmol": ("amount", Fraction(1)),
    "mol": ("amount", Fraction(1000)),
    "mOsmol": ("osmole", Fraction(1)),
    "kcal": ("energy", Fraction(1)),
    "kg": ("body weight", Fraction(1)),
    "m2": ("body surface", Fraction(1)),
    "cm": ("height", Fraction(1)),
    "m": ("height", Fraction(100)),
    "in": ("height", Fraction(254, 100)),
}
_WRITTEN = {
    "mass": "mg", "volume": "mL", "activity": "units", "equivalent": "mEq", "amount": "mmol",
    "osmole": "mOsmol", "energy": "kcal",
}  # fmt: skip
Measured = tuple[Fraction, tuple[str, ...]]


@lru_cache(maxsize=4096)
def measured(text: str) -> Measured:
    """Return an amount in base units and what it measures: `1 g/10 mL` stored as `0.1 g/mL` is 100, mass
    by volume.
    """
    number, _, code = text.partition(" ")
    top, *below = code.split("/")
    try:
        if code == "%":
            return Fraction(number) * 10, ("mass", "volume")
        kind, size = _UNITS[top]
        kinds = [kind]
        for unit in below:
            kind, factor = _UNITS[unit]
            kinds.append(kind)
            size /= factor
        return Fraction(number) * size, tuple(kinds)
    except (KeyError, ValueError):
        raise NotProved(what="an amount", found=f"“{text}”", expected="an amount that can be read") from None


@lru_cache(maxsize=4096)
def in_ml(text: str) -> Fraction:
    """Return a stored volume in mL."""
    number, kinds = measured(text)
    if kinds != ("volume",):
        raise NotProved(what="a volume", found=text, expected="mL")
    return number


def told(number: Fraction, kind: str) -> str:
    """Return an amount for a line of the proof: `1,250 mg`, half up to four decimals."""
    return f"{plain_number(number)} {_WRITTEN[kind]}"


def plain_number(number: Fraction, places: int = 4) -> str:
    """Return a fraction as digits with commas, half up."""
    scale = 10**places
    scaled = (abs(number) * scale * 2 + 1) // 2
    whole, rest = divmod(int(scaled), scale)
    decimals = f"{rest:0{places}d}".rstrip("0")
    sign = "-" if number < 0 and scaled else ""
    return f"{sign}{whole:,}.{decimals}" if decimals else f"{sign}{whole:,}"


def root(number: Fraction) -> Fraction:
    """Return a square root to twelve decimals, by Newton's way on whole numbers."""
    scaled = int(number * 10**24)
    guess = scaled
    while guess:
        better = (guess + scaled // guess) // 2
        if better >= guess:
            return Fraction(guess, 10**12)
        guess = better
    return Fraction(0)
