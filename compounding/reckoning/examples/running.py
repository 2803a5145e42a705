"""Running an example: the engine's answer, rounded once as the source does, beside the published one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Any

from compounding.reckoning.examples import (
    bag_concentration_volume,
    dilution_alligation,
    dose_to_volume,
    infusion_rate,
    isotonicity,
    meq_mmol,
    osmolarity,
    parenteral_nutrition,
    reconstitution,
    renal_ibw,
    strength_conversion,
    vials_waste,
    weight_bsa_dose,
)
from compounding.reckoning.examples.given import Answer, Given, Way
from compounding.reckoning.quantities import number_in, of, round_half_up, write, write_number

WAYS: dict[str, dict[str, Way]] = {
    "bag_concentration_volume": bag_concentration_volume.WAYS,
    "dilution_alligation": dilution_alligation.WAYS,
    "dose_to_volume": dose_to_volume.WAYS,
    "infusion_rate": infusion_rate.WAYS,
    "isotonicity": isotonicity.WAYS,
    "meq_mmol": meq_mmol.WAYS,
    "osmolarity": osmolarity.WAYS,
    "parenteral_nutrition": parenteral_nutrition.WAYS,
    "reconstitution": reconstitution.WAYS,
    "renal_ibw": renal_ibw.WAYS,
    "strength_conversion": strength_conversion.WAYS,
    "vials_waste": vials_waste.WAYS,
    "weight_bsa_dose": weight_bsa_dose.WAYS,
}
BARE = "number"
_DIRECTIONS = {"up": ROUND_CEILING, "down": ROUND_FLOOR}


@dataclass(frozen=True)
class Outcome:
    """One example that was run: the published answer and the engine's, both written; do they agree?"""

    id: str
    kind: str
    title: str
    is_answer_seen: bool
    published: str
    found: str
    agrees: bool


def run(example: Mapping[str, Any]) -> Outcome:
    """Return what the engine makes of an example, honouring its rounding. Raises what the engine refuses."""
    given = Given(example["given"])
    answer = WAYS[example["kind"]][given.word("way")](given)
    expected, rounding = example["expected"], example["rounding"]
    exact = number_of(answer, expected["unit"])
    found = _rounded(exact, Decimal(rounding["step"]), rounding["direction"])
    return Outcome(
        id=example["id"],
        kind=example["kind"],
        title=example["source"]["title"],
        is_answer_seen=example["answer_seen"],
        published=expected["text"],
        found=_written(found, expected["unit"]),
        agrees=found == Decimal(expected["value"]),
    )


def number_of(answer: Answer, unit: str) -> Decimal:
    """Return an answer as a number in the unit the example asks for; a bare number has none."""
    if isinstance(answer, Decimal | int):
        return Decimal(answer)
    return number_in(answer, unit)


def _rounded(number: Decimal, step: Decimal, direction: str) -> Decimal:
    if direction in _DIRECTIONS:
        return (number / step).to_integral_value(_DIRECTIONS[direction]) * step
    return round_half_up(number, step)


def _written(number: Decimal, unit: str) -> str:
    return write_number(number) if unit in (BARE, "deg C") else write(of(number, unit))
