"""Infusions: pump rate, drop rate, run time, and from a dose rate to a rate and back.

Everything is unrounded but drops, which are whole and half up (worked_examples.md, traps 1 and 2).
The volume is the one really given: who counts additive or overfill says so by the volume handed in (trap 10).
"""

from __future__ import annotations

from decimal import Decimal

from compounding.reckoning.quantities import (
    Kind,
    Quantity,
    code_of,
    kind_of,
    number_in,
    of,
    round_half_up,
    write,
    write_number,
)
from compounding.reckoning.refusals import MissingFact, OutOfRange, WrongKind
from compounding.reckoning.strengths import BASE, base_of
from compounding.reckoning.units import CODES, EXAMPLES
from compounding.reckoning.working import Worked, short
from compounding.reckoning.worksheet import Line

_WHOLE = Decimal(1)


def pump_rate(volume: Quantity, time: Quantity) -> Worked:
    """Return volume ÷ time in mL/h, unrounded. Raises NotConvertible."""
    rate = of(number_in(volume, "mL") / number_in(time, "h"), "mL/h")
    return _worked("rate", f"{short(volume)} ÷ {short(time)} = {short(rate)}", rate)


def rate_by_weight(rate: Quantity, body_weight: Quantity) -> Worked:
    """Return a rate per kg (60 mL/kg/day) for this body weight, in mL/h. Raises NotConvertible."""
    hourly = of(number_in(rate, "mL/kg/h") * number_in(body_weight, "kg"), "mL/h")
    return _worked("rate", f"{write(rate)} × {write(body_weight)} = {short(hourly)}", hourly)


def run_time(volume: Quantity, rate: Quantity) -> Worked:
    """Return how long a volume runs at a rate, in h. Raises NotConvertible."""
    time = of(number_in(volume, "mL") / number_in(rate, "mL/h"), "h")
    return _worked("run time", f"{short(volume)} ÷ {short(rate)} = {short(time)}", time)


def volume_over(rate: Quantity, time: Quantity) -> Worked:
    """Return the volume that runs in a time, in mL. Raises NotConvertible."""
    volume = of(number_in(rate, "mL/h") * number_in(time, "h"), "mL")
    return _worked("volume", f"{short(rate)} × {short(time)} = {short(volume)}", volume)


def drops(rate: Quantity, drop_factor: Quantity, unit: str = "gtt/min") -> Worked:
    """Return rate × drops per mL of the set, unrounded, in `gtt/min` or `gtt/h`. Raises NotConvertible."""
    per = unit.partition("/")[2]
    flow = of(number_in(rate, f"mL/{per}"), f"mL/{per}")
    result = of(flow.magnitude * number_in(drop_factor, "gtt/mL"), unit)
    text = f"{short(flow)} × {write(drop_factor)} = {short(result)}"
    lines = [] if code_of(flow) == code_of(rate) else [Line("drop rate", f"{short(rate)} = {short(flow)}")]
    return Worked(result, (*lines, Line("drop rate", text)))


def drop_rate(rate: Quantity, drop_factor: Quantity) -> Worked:
    """Return the drops a minute to count, whole and half up.

    Refuses OutOfRange below half a drop a minute: nobody counts that. Raises NotConvertible.
    """
    exact = drops(rate, drop_factor)
    whole = of(round_half_up(exact.amount.magnitude, _WHOLE), "gtt/min")
    if not whole.magnitude:
        given = short(exact.amount)
        raise OutOfRange(what="A drop rate", given=given, range="a rate of 1 gtt/min or more, or use a pump")
    rounded = Line("drop rate", f"{short(exact.amount)}, counted as {write(whole)}")
    return Worked(whole, (*exact.lines, rounded))


def content_per_hour(
    dose_rate: Quantity, body_weight: Quantity | None = None, surface: Quantity | None = None
) -> Worked:
    """Return what a dose rate gives in an hour, in mg/h, units/h, mEq/h …, unrounded.

    A rate per kg needs the body weight, one per square metre the surface: MissingFact. Raises WrongKind.
    """
    unit, below, per = _parts(dose_rate)
    hourly = number_in(of(1, "h"), per) * dose_rate.magnitude
    factors = [write(dose_rate)]
    if below:
        patient = _of_patient(dose_rate, below[0], body_weight, surface)
        hourly *= number_in(patient, below[0])
        factors.append(short(patient))
    if per != "h":
        factors.append(f"{write_number(number_in(of(1, 'h'), per))} {per}/h")
    return _in_base(of(hourly, f"{unit}/h"), factors)


def rate_for_dose(
    dose_rate: Quantity,
    strength: Quantity,
    body_weight: Quantity | None = None,
    surface: Quantity | None = None,
) -> Worked:
    """Return the pump rate in mL/h that gives a dose rate from a bag of this strength, unrounded.

    Raises MissingFact, WrongKind, NotConvertible (mg ordered, mEq/mL in the bag).
    """
    hourly = content_per_hour(dose_rate, body_weight, surface)
    base = code_of(hourly.amount).partition("/")[0]
    per_ml = of(number_in(strength, f"{base}/mL"), f"{base}/mL")
    rate = of(hourly.amount.magnitude / per_ml.magnitude, "mL/h")
    line = Line("rate", f"{short(hourly.amount)} ÷ {short(per_ml)} = {short(rate)}")
    return Worked(rate, (*hourly.lines, line))


def dose_rate_at(
    rate: Quantity,
    strength: Quantity,
    unit: str,
    body_weight: Quantity | None = None,
    surface: Quantity | None = None,
) -> Worked:
    """Return the dose rate that a pump rate gives, in `unit` (`mcg/kg/min`), unrounded.

    Raises MissingFact, NotConvertible.
    """
    wanted = of(1, unit)
    content, below, per = _parts(wanted)
    flow = of(number_in(rate, f"mL/{per}"), f"mL/{per}")
    per_ml = of(number_in(strength, f"{content}/mL"), f"{content}/mL")
    given, text = flow.magnitude * per_ml.magnitude, f"{short(flow)} × {short(per_ml)}"
    if below:
        patient = _of_patient(wanted, below[0], body_weight, surface)
        given /= number_in(patient, below[0])
        text += f" ÷ {short(patient)}"
    amount = of(given, unit)
    return _worked("dose rate", f"{text} = {short(amount)}", amount)


def dose_rate_over(
    content: Quantity,
    time: Quantity,
    unit: str,
    body_weight: Quantity | None = None,
    surface: Quantity | None = None,
) -> Worked:
    """Return content ÷ time (÷ body weight or surface) in `unit` (`units/min`, `mg/kg/h`), unrounded.

    Raises MissingFact, WrongKind, NotConvertible.
    """
    wanted = of(1, unit)
    top, below, per = _parts(wanted)
    given = number_in(content, top) / number_in(time, per)
    text = f"{short(content)} ÷ {short(of(number_in(time, per), per))}"
    if below:
        patient = _of_patient(wanted, below[0], body_weight, surface)
        given /= number_in(patient, below[0])
        text += f" ÷ {short(patient)}"
    amount = of(given, unit)
    return _worked("dose rate", f"{text} = {short(amount)}", amount)


def time_for_dose(content: Quantity, dose_rate: Quantity) -> Worked:
    """Return how long a content takes at a dose rate, in min. Raises MissingFact, NotConvertible."""
    hourly = content_per_hour(dose_rate)
    base = base_of(content)
    hours = number_in(content, base) / number_in(hourly.amount, f"{base}/h")
    time = of(hours * 60, "min")
    text = f"{short(content)} ÷ {write(dose_rate)} = {short(time)}"
    return _worked("run time", text, time)


def content_for_rate(
    dose_rate: Quantity, rate: Quantity, volume: Quantity, body_weight: Quantity | None = None
) -> Worked:
    """Return how much drug a bag of `volume` needs so that `rate` gives `dose_rate`, unrounded.

    Raises MissingFact, WrongKind, NotConvertible.
    """
    hourly = content_per_hour(dose_rate, body_weight)
    base = code_of(hourly.amount).partition("/")[0]
    strength = of(hourly.amount.magnitude / number_in(rate, "mL/h"), f"{base}/mL")
    content = of(strength.magnitude * number_in(volume, "mL"), base)
    per_ml = Line("content", f"{short(hourly.amount)} ÷ {short(rate)} = {short(strength)}")
    whole = Line("content", f"{short(strength)} × {short(volume)} = {short(content)}")
    return Worked(content, (*hourly.lines, per_ml, whole))


def _worked(about: str, text: str, amount: Quantity) -> Worked:
    return Worked(amount, (Line(about, text),))


def _parts(dose_rate: Quantity) -> tuple[str, list[str], str]:
    """Return the codes of a dose rate: content, per kg or per m2 if any, per time."""
    if kind_of(dose_rate) is not Kind.DOSE_RATE:
        raise WrongKind(
            amount=write(dose_rate),
            is_kind=kind_of(dose_rate),
            kind=Kind.DOSE_RATE,
            example=EXAMPLES[Kind.DOSE_RATE],
        )
    content, *below, per = code_of(dose_rate).split("/")
    return content, below, per


def _of_patient(
    rate: Quantity, below: str, body_weight: Quantity | None, surface: Quantity | None
) -> Quantity:
    named = {"kg": ("The body weight", body_weight), "m2": ("The body surface", surface)}
    fact, amount = named[below]
    if amount is None:
        raise MissingFact(fact=fact, why=f"the rate is in {code_of(rate)}")
    return amount


def _in_base(hourly: Quantity, factors: list[str]) -> Worked:
    """Return an hourly content in its base unit (mg, units, mEq …) with the lines that led to it."""
    unit = code_of(hourly).partition("/")[0]
    base = f"{BASE[CODES[unit][1]]}/h"
    amount = of(number_in(hourly, base), base)
    lines = []
    if len(factors) > 1:
        lines.append(Line("dose rate", f"{' × '.join(factors)} = {short(hourly)}"))
    if code_of(amount) != code_of(hourly):
        lines.append(Line("dose rate", f"{short(hourly)} = {short(amount)}"))
    return Worked(amount, tuple(lines))
