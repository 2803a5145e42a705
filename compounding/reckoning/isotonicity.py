"""Isotonicity by sodium chloride equivalents (E-values) and by freezing point.

Textbook constants (memory, as the published examples use them): 0.9 % sodium chloride is isotonic, its molar
mass 58.5 and its i 1.8; body fluids freeze 0.52 °C below water, 1 % sodium chloride 0.58 °C.
"""

from __future__ import annotations

from decimal import Decimal

from compounding.reckoning.quantities import Quantity, number_in, of, write, write_number
from compounding.reckoning.refusals import CannotBeMade, OutOfRange
from compounding.reckoning.working import Worked, short, short_number
from compounding.reckoning.worksheet import Line

ISOTONIC = Decimal("0.009")  # g sodium chloride in a mL
SALT_MASS, SALT_I = Decimal("58.5"), Decimal("1.8")
BODY_DEPRESSION, SALT_DEPRESSION = Decimal("0.52"), Decimal("0.58")
MOLAL_DEPRESSION = Decimal("1.86")


class AlreadyHypertonic(CannotBeMade):
    """The drugs alone are above isotonic; nothing can be added to lower it. Facts: drugs, needed."""

    wording = (
        "The drugs already count as {drugs} of sodium chloride, more than the {needed} of an isotonic "
        "solution. Use a larger volume."
    )


def agent_needed(
    volume: Quantity, drugs: tuple[tuple[Quantity, Decimal], ...], agent_e: Decimal = Decimal(1)
) -> Worked:
    """Return the g of an agent that make the volume isotonic: sodium chloride, or one of E-value `agent_e`.

    `drugs` are pairs of content (a mass) and E-value. Refuses AlreadyHypertonic, OutOfRange (an E-value not
    above 0), NotConvertible.
    """
    needed = number_in(volume, "mL") * ISOTONIC
    parts = [(number_in(content, "g"), _positive("An E-value", e)) for content, e in drugs]
    counted = sum((grams * e for grams, e in parts), Decimal(0))
    if counted > needed:
        raise AlreadyHypertonic(drugs=short(of(counted, "g")), needed=short(of(needed, "g")))
    salt = of(needed - counted, "g")
    lines = [f"{write(volume)} × 0.9 % = {short(of(needed, 'g'))}"]
    for (content, e), (grams, _) in zip(drugs, parts, strict=True):
        lines.append(f"{write(content)} × {write_number(e)} = {short(of(grams * e, 'g'))} as sodium chloride")
    lines.append(f"{short(of(needed, 'g'))} − {short(of(counted, 'g'))} = {short(salt)} sodium chloride")
    agent = of(salt.magnitude / _positive("An E-value", agent_e), "g")
    if agent_e != 1:
        lines.append(f"{short(salt)} ÷ {write_number(agent_e)} = {short(agent)} of the agent")
    return Worked(agent, _lines(lines))


def isotonic_volume(content: Quantity, e: Decimal) -> Worked:
    """Return the water, in mL, a drug alone is isotonic in (White and Vincent): g × E ÷ 0.009 g/mL."""
    volume = of(number_in(content, "g") * _positive("An E-value", e) / ISOTONIC, "mL")
    return Worked(volume, _lines([f"{write(content)} × {write_number(e)} ÷ 0.009 g/mL = {short(volume)}"]))


def e_from_volume(content: Quantity, volume: Quantity) -> Decimal:
    """Return the E-value of a drug that is isotonic in this volume of water, unrounded."""
    return number_in(volume, "mL") * ISOTONIC / number_in(content, "g")


def e_value(molar_mass: Quantity, i: Decimal) -> Decimal:
    """Return the E-value from molar mass and dissociation factor: (i ÷ M) × (58.5 ÷ 1.8), unrounded."""
    mass = number_in(molar_mass, "mg/mmol")
    return _positive("A dissociation factor", i) * SALT_MASS / (SALT_I * mass)


def agent_by_freezing(
    volume: Quantity, depression: Decimal, agent_depression: Decimal = SALT_DEPRESSION
) -> Worked:
    """Return how much of an agent makes the volume isotonic, in g, by freezing point.

    `depression` is what the drugs at their strength lower the freezing point by, `agent_depression` what
    1 % of the agent does, in °C. Refuses AlreadyHypertonic, OutOfRange.
    """
    if depression > BODY_DEPRESSION:
        counted = volume_share(volume, depression, SALT_DEPRESSION)
        raise AlreadyHypertonic(drugs=short(counted), needed=short(volume_share(volume, BODY_DEPRESSION)))
    agent = volume_share(volume, BODY_DEPRESSION - depression, agent_depression)
    share = f"(0.52 − {short_number(depression)}) ÷ {short_number(agent_depression)}"
    return Worked(agent, _lines([f"{share} % of {write(volume)} = {short(agent)}"]))


def volume_share(
    volume: Quantity, depression: Decimal, of_one_percent: Decimal = SALT_DEPRESSION
) -> Quantity:
    """Return the g of an agent in a volume that lower its freezing point by `depression`, in °C."""
    percent = depression / _positive("A freezing point depression", of_one_percent)
    return of(percent * number_in(volume, "dL"), "g")


def freezing_depression(strength: Quantity, molar_mass: Quantity, i: Decimal) -> Decimal:
    """Return by how many °C a solute lowers the freezing point: 1.86 × i × mol/L, unrounded."""
    molar = number_in(strength, "g/L") / number_in(molar_mass, "mg/mmol")
    return MOLAL_DEPRESSION * _positive("A dissociation factor", i) * molar


def _positive(what: str, number: Decimal) -> Decimal:
    if not number > 0:
        raise OutOfRange(what=what, given=write_number(number), range="a number above 0")
    return number


def _lines(texts: list[str]) -> tuple[Line, ...]:
    return tuple(Line("isotonicity", text) for text in texts)
