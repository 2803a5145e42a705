"""Strengths: how much is in a mL, and the volume that holds a wanted content.

Percent is grams in 100 mL; a ratio 1:n is one gram in n mL (both by common definition, USP General Notices,
from memory). Ratios are read from old labels only and never written: a single drug's strength is written in
full (ISMP).
"""

from __future__ import annotations

import re
from decimal import Decimal

from compounding.reckoning.quantities import Kind, Quantity, code_of, kind_of, number_in, of, write
from compounding.reckoning.refusals import NotConvertible, OutOfRange, WrongKind
from compounding.reckoning.units import EXAMPLES
from compounding.reckoning.working import Worked, short
from compounding.reckoning.worksheet import Line

# the unit that contents of a kind are reckoned in
BASE = {
    Kind.MASS: "mg", Kind.ACTIVITY: "units", Kind.EQUIVALENT: "mEq",
    Kind.AMOUNT: "mmol", Kind.OSMOLE: "mOsmol", Kind.ENERGY: "kcal",
}  # fmt: skip
_RATIO = re.compile(r"1:([0-9]{1,3}(?:,[0-9]{3})+|[0-9]{1,9})", re.ASCII)


def base_of(content: Quantity) -> str:
    """Return the unit a content is reckoned in (`mg`, `units`, `mEq` …). Raises NotConvertible for no
    content.
    """
    kind = kind_of(content)
    if kind not in BASE:
        raise NotConvertible(amount=write(content), is_kind=kind, unit="a content", kind=Kind.CONTENT)
    return BASE[kind]


def base_of_strength(strength: Quantity) -> str:
    """Return the unit that what is in a solution is reckoned in: `mg` of `0.9 %`. Raises WrongKind."""
    if kind_of(strength) is not Kind.STRENGTH:
        raise WrongKind(
            amount=write(strength),
            is_kind=kind_of(strength),
            kind=Kind.STRENGTH,
            example=EXAMPLES[Kind.STRENGTH],
        )
    top = code_of(strength).partition("/")[0]
    return BASE[Kind.MASS] if top == "%" else base_of(of(1, top))


def volume_of(content: Quantity, strength: Quantity, about: str = "volume") -> Worked:
    """Return the volume of a solution that holds a content: content ÷ strength, unrounded, in mL.

    Raises NotConvertible when the two are of different kinds (mg against mEq/mL).
    """
    base = base_of(content)
    in_base = of(number_in(content, base), base)
    per_ml = _same_kind(content, strength, base)
    volume = of(in_base.magnitude / per_ml, "mL")
    lines = []
    if code_of(content) != base:
        lines.append(Line(about, f"{write(content)} = {write(in_base)}"))
    lines.append(Line(about, f"{short(in_base)} ÷ {short(of(per_ml, base + '/mL'))} = {short(volume)}"))
    return Worked(volume, tuple(lines))


def content_of(volume: Quantity, strength: Quantity, unit: str) -> Worked:
    """Return what a volume of a solution holds, in `unit` (`mg`). Raises NotConvertible."""
    per_ml = number_in(strength, f"{unit}/mL")
    content = of(number_in(volume, "mL") * per_ml, unit)
    text = f"{short(volume)} × {short(of(per_ml, unit + '/mL'))} = {short(content)}"
    return Worked(content, (Line("content", text),))


def strength_of(content: Quantity, volume: Quantity) -> Quantity:
    """Return the strength of a content in a volume, per mL: 1 g in 10 mL is 100 mg/mL."""
    base = base_of(content)
    return of(number_in(content, base) / number_in(volume, "mL"), f"{base}/mL")


def per_ml(strength: Quantity, unit: str = "mg") -> Quantity:
    """Return a strength per mL: 0.9 % is 9 mg/mL. Raises NotConvertible."""
    return of(number_in(strength, f"{unit}/mL"), f"{unit}/mL")


def percent(strength: Quantity) -> Quantity:
    """Return a strength in grams per 100 mL: 17.532 g/100 mL is 17.532 %. Raises NotConvertible."""
    return of(number_in(strength, "%"), "%")


def ratio(text: str) -> Quantity:
    """Return the strength of a ratio as an old label prints it (`1:1,000` is 1 mg/mL). Raises OutOfRange."""
    match = _RATIO.fullmatch(text)
    parts = Decimal(match[1].replace(",", "")) if match else Decimal(0)
    if not parts:
        raise OutOfRange(what="A ratio strength", given=f"“{text[:40]}”", range="it as 1:1000")
    return of(1000 / parts, "mg/mL")


def _same_kind(content: Quantity, strength: Quantity, base: str) -> Decimal:
    """Return how many of `base` are in a mL; refuse with both sides named."""
    try:
        return number_in(strength, f"{base}/mL")
    except NotConvertible:
        raise NotConvertible(
            amount=write(content),
            is_kind=kind_of(content),
            unit=f"a volume of {write(strength)}",
            kind="a strength in another kind of unit",
        ) from None
