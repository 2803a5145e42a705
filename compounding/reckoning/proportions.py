"""Proportions: the small sums between the named calculations, each with its working.

Pounds to kilograms, a dose by a stated body surface, parts by alligation, how much to add, what is left. None
of them lays out a preparation; the desk's calculators and the published examples need them.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from compounding.reckoning.quantities import Quantity, code_of, number_in, of, write, write_number
from compounding.reckoning.refusals import OutOfRange
from compounding.reckoning.strengths import base_of_strength
from compounding.reckoning.working import Worked, short, short_number
from compounding.reckoning.worksheet import Line

_HUNDRED = Decimal(100)


def weight_of_pounds(pounds: Decimal, pounds_per_kg: Decimal) -> Worked:
    """Return pounds in kg, unrounded. Texts reckon with 2.2 or 2.20462 lb in a kg: it must be said which.

    Refuses OutOfRange (worked_examples.md, trap 3).
    """
    heavy = _positive("A weight in pounds", pounds)
    weight = of(heavy / _positive("The pounds in a kg", pounds_per_kg), "kg")
    text = f"{write_number(pounds)} lb ÷ {write_number(pounds_per_kg)} lb/kg = {short(weight)}"
    return Worked(weight, (Line("body weight", text),))


def dose_by_surface(dose: Quantity, surface: Quantity) -> Worked:
    """Return a dose per square metre times a body surface that is already known. Raises NotConvertible."""
    unit = code_of(dose).partition("/")[0]
    content = of(number_in(dose, f"{unit}/m2") * number_in(surface, "m2"), unit)
    return Worked(content, (Line("dose", f"{write(dose)} × {write(surface)} = {short(content)}"),))


def parts_of_weaker(stronger: Quantity, weaker: Quantity, wanted: Quantity) -> Decimal:
    """Return how many parts of a weaker solution go to one of a stronger. Raises OutOfRange, NotConvertible.

    Alligation: (stronger − wanted) ÷ (wanted − weaker).
    """
    base = base_of_strength(stronger)
    high, low, middle = (number_in(one, f"{base}/mL") for one in (stronger, weaker, wanted))
    if not low < middle < high:
        between = f"one between {write(weaker)} and {write(stronger)}"
        raise OutOfRange(what="The strength of the mixture", given=write(wanted), range=between)
    return (high - middle) / (middle - low)


def volume_to_add(added: Quantity, volume: Quantity, strength: Quantity, wanted: Quantity) -> Worked:
    """Return how much of a solution of strength `added` turns a volume of `strength` into `wanted`.

    Volumes are held to add up. Raises OutOfRange where the wanted strength does not lie between the two,
    NotConvertible.
    """
    base = base_of_strength(wanted)
    new, now, aim = (number_in(one, f"{base}/mL") for one in (added, strength, wanted))
    if not min(new, now) < aim < max(new, now):
        between = f"one between {write(strength)} and {write(added)}"
        raise OutOfRange(what="The strength of the mixture", given=write(wanted), range=between)
    more = of(number_in(volume, "mL") * abs(aim - now) / abs(new - aim), "mL")
    parts = f"{short_number(abs(aim - now))} ÷ {short_number(abs(new - aim))}"
    return Worked(more, (Line("to add", f"{write(volume)} × {parts} = {short(more)}"),))


def share_percent(part: Quantity, whole: Quantity) -> Decimal:
    """Return a part of a whole in percent, unrounded. Raises NotConvertible."""
    return number_in(part, code_of(whole)) / whole.magnitude * _HUNDRED


def by_factor(amount: Quantity, factor: Quantity) -> Worked:
    """Return an amount times a factor between two kinds (`0.465 mEq/100 mg`). Raises NotConvertible."""
    top, _, below = code_of(factor).partition("/")
    result = of(number_in(amount, below) * factor.magnitude, top)
    return Worked(result, (Line("by the factor", f"{write(amount)} × {write(factor)} = {short(result)}"),))


def content_of_drop(strength: Quantity, drop_factor: Quantity) -> Worked:
    """Return what one drop of a solution holds: strength ÷ drops in a mL. Raises NotConvertible."""
    base = base_of_strength(strength)
    per_ml = of(number_in(strength, f"{base}/mL"), f"{base}/mL")
    content = of(per_ml.magnitude / number_in(drop_factor, "gtt/mL"), base)
    text = f"{short(per_ml)} ÷ {write(drop_factor)} = {short(content)}"
    return Worked(content, (Line("in a drop", text),))


def total_of(amounts: Iterable[Quantity]) -> Worked:
    """Return the sum of amounts of one kind, in the unit of the first. Raises NotConvertible."""
    first, *others = amounts
    unit = code_of(first)
    total = of(first.magnitude + sum((number_in(one, unit) for one in others), Decimal(0)), unit)
    text = " + ".join(write(one) for one in (first, *others))
    return Worked(total, (Line("in all", f"{text} = {short(total)}"),))


def left_of(whole: Quantity, taken: Iterable[Quantity]) -> Worked:
    """Return what is left of a whole. Refuses OutOfRange when more is taken; raises NotConvertible."""
    unit, parts = code_of(whole), tuple(taken)
    left = whole.magnitude - sum((number_in(one, unit) for one in parts), Decimal(0))
    if left < 0:
        raise OutOfRange(what=f"What is taken of {write(whole)}", given="more than it", range="less")
    rest = of(left, unit)
    text = " − ".join(write(one) for one in (whole, *parts))
    return Worked(rest, (Line("left", f"{text} = {short(rest)}"),))


def _positive(what: str, number: Decimal) -> Decimal:
    if not number > 0:
        raise OutOfRange(what=what, given=write_number(number), range="a number above 0")
    return number
