"""From an ordered dose and a patient to the content that is required.

Doses may be absolute, per kg or per square metre. Everything is unrounded: rounding to a mark or to a vial
comes later, once, by its own rule.
"""

from __future__ import annotations

from decimal import Decimal

from compounding.reckoning.body import surface
from compounding.reckoning.quantities import (
    Kind,
    Quantity,
    convert,
    is_of_kind,
    kind_of,
    number_in,
    of,
    write,
)
from compounding.reckoning.quantities import round_half_up as nearest
from compounding.reckoning.refusals import (
    MissingFact,
    NotRoundable,
    OutOfRange,
    OverDoseLimit,
    UnderDoseLimit,
    WrongKind,
)
from compounding.reckoning.strengths import base_of
from compounding.reckoning.units import EXAMPLES, code_of
from compounding.reckoning.working import Worked, short, short_number, short_percent
from compounding.reckoning.worksheet import Line

_HUNDRED = Decimal(100)
# the filtration rate above which carboplatin is not dosed (worked_examples.md, trap 14)
MOST_FILTRATION = of(125, "mL/min")


def required_content(dose: Quantity, body_weight: Quantity | None, height: Quantity | None) -> Worked:
    """Return the content an ordered dose requires for this patient.

    An absolute dose is returned as it is. Per kg needs the body weight (the one the order names: actual,
    ideal or adjusted); per square metre needs weight and height (Mosteller). Raises MissingFact, WrongKind.
    """
    kind = kind_of(dose)
    if is_of_kind(dose, Kind.CONTENT):
        return Worked(dose, (Line("dose", f"ordered: {write(dose)}"),))
    if kind is Kind.DOSE_BY_WEIGHT:
        return per_weight(dose, _stated(body_weight, "The body weight", f"the dose is {write(dose)}"))
    if kind is Kind.DOSE_BY_AREA:
        why = f"the dose is {write(dose)}"
        return per_area(
            dose, _stated(body_weight, "The body weight", why), _stated(height, "The height", why)
        )
    raise WrongKind(amount=write(dose), is_kind=kind, kind=Kind.DOSE, example=EXAMPLES[Kind.DOSE])


def per_weight(dose: Quantity, body_weight: Quantity) -> Worked:
    """Return a dose per kg times a body weight: 15 mg/kg × 70 kg = 1,050 mg. Raises NotConvertible."""
    unit = code_of(dose).partition("/")[0]
    content = of(number_in(dose, f"{unit}/kg") * number_in(body_weight, "kg"), unit)
    return Worked(content, (Line("dose", f"{write(dose)} × {write(body_weight)} = {short(content)}"),))


def per_area(dose: Quantity, body_weight: Quantity, height: Quantity) -> Worked:
    """Return a dose per square metre times the body surface by Mosteller. Raises NotConvertible."""
    unit = code_of(dose).partition("/")[0]
    area = surface(height, body_weight)
    content = of(number_in(dose, f"{unit}/m2") * number_in(area.amount, "m2"), unit)
    text = f"{write(dose)} × {short(area.amount)} = {short(content)}"
    return Worked(content, (*area.lines, Line("dose", text)))


def over_time(rate: Quantity, time: Quantity, body_weight: Quantity | None = None) -> Worked:
    """Return what a dose rate gives in a time: 5 mcg/kg/min × 70 kg × 60 min = 21,000 mcg.

    Raises MissingFact when the rate is per kg and the weight is not stated, WrongKind for no dose rate.
    """
    if kind_of(rate) is not Kind.DOSE_RATE:
        raise WrongKind(
            amount=write(rate), is_kind=kind_of(rate), kind=Kind.DOSE_RATE, example="5 mcg/kg/min"
        )
    unit, *below, per = code_of(rate).split("/")
    content, factors = rate.magnitude * number_in(time, per), [write(rate)]
    if "kg" in below:
        weight = _stated(body_weight, "The body weight", f"the rate is {write(rate)}")
        content *= number_in(weight, "kg")
        factors.append(write(weight))
    elif below:
        raise MissingFact(fact="The body surface", why=f"the rate is {write(rate)}")
    factors.append(short(convert(time, per)))
    return Worked(of(content, unit), (Line("dose", f"{' × '.join(factors)} = {short(of(content, unit))}"),))


def calvert(target: Decimal, filtration: Quantity, most: Quantity = MOST_FILTRATION) -> Worked:
    """Return a carboplatin dose in mg: target area × (filtration + 25), the filtration capped.

    `target` in mg/mL × min, above 0 to 12. Source: Calvert 1989 and the cap of 125 mL/min
    (worked_examples.md).
    """
    if not 0 < target <= 12:
        raise OutOfRange(
            what="The target area", given=short_number(target), range="a number above 0 and at most 12"
        )
    rate = min(number_in(filtration, "mL/min"), number_in(most, "mL/min"))
    content = of(target * (rate + 25), "mg")
    text = f"{short_number(target)} × ({short_number(rate)} + 25) = {short(content)}"
    return Worked(content, (Line("dose", text),))


def capped(content: Quantity, most: Quantity) -> Worked:
    """Return a content, or the cap where it is more (a maximum is never rounded up). Raises
    NotConvertible.
    """
    limit = convert(most, base_of(content))
    if number_in(content, base_of(content)) <= limit.magnitude:
        return Worked(content, ())
    return Worked(most, (Line("dose", f"{short(content)} is capped at {write(most)}"),))


def rounded_to_vial(content: Quantity, vial: Quantity, limit_percent: Decimal) -> Worked:
    """Return the nearest whole number of vials' content, where it moves the dose by at most `limit_percent`.

    The formulation allows it or not; this never does so by itself. Raises NotRoundable.
    """
    base = base_of(content)
    ordered, one = number_in(content, base), number_in(vial, base)
    rounded = nearest(ordered, one)
    moved = abs(rounded - ordered) / ordered * _HUNDRED
    if moved > limit_percent:
        raise NotRoundable(
            dose=short(content),
            rounded=short(of(rounded, base)),
            moved=short_percent(moved),
            limit=short_percent(limit_percent),
        )
    text = f"{short(content)} rounds to {short(of(rounded, base))} ({short_percent(moved)} %)"
    return Worked(of(rounded, base), (Line("dose", text),))


def check_limits(substance: str, content: Quantity, least: Quantity | None, most: Quantity | None) -> None:
    """Refuse a content outside the formulation's dose limits. Raises OverDoseLimit, UnderDoseLimit."""
    base = base_of(content)
    amount = number_in(content, base)
    if most is not None and amount > number_in(most, base):
        raise OverDoseLimit(substance=substance, dose=short(content), limit=write(most))
    if least is not None and amount < number_in(least, base):
        raise UnderDoseLimit(substance=substance, dose=short(content), limit=write(least))


def _stated(amount: Quantity | None, fact: str, why: str) -> Quantity:
    """Return an amount that must be on the order."""
    if amount is None:
        raise MissingFact(fact=fact, why=why)
    return amount
