"""Required, drawn and seen: do they agree, and if not, which is the odd one and by how much?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import Quantity, number_in
from compounding.reckoning.worksheet import Draw, Transfer


@dataclass(frozen=True)
class Verdict:
    """What the comparison found. Volumes are in mL; `odd_one` is empty when none stands out."""

    agrees: bool
    spread: Decimal
    tolerance: Decimal
    odd_one: str
    is_content_off: bool


def compare(
    draw: Draw,
    *,
    drawn: Quantity,
    seen: Quantity,
    limit_percent: Decimal,
    also_seen: Iterable[Quantity] = (),
) -> Verdict:
    """Compare the three amounts of one draw, and what another checker saw of it where two have to read.

    They agree when the largest less the smallest is at most half a mark (inclusive), and neither the
    drawn nor the seen volume is further than `limit_percent` from the unrounded order. The required
    amount is the target at its mark. Common practice, no source; the limit is the site's policy.
    """
    amounts = {
        "required": number_in(draw.target, "mL"),
        "drawn": number_in(drawn, "mL"),
        "seen": number_in(seen, "mL"),
    }
    tolerance = number_in(draw.syringe.mark, "mL") / 2
    every = [*amounts.values(), *(number_in(one, "mL") for one in also_seen)]
    spread = max(every) - min(every)
    ordered = number_in(draw.required, "mL")
    furthest = max(abs(amounts["drawn"] - ordered), abs(amounts["seen"] - ordered))
    is_content_off = furthest * 100 > ordered * limit_percent
    return Verdict(
        agrees=spread <= tolerance and not is_content_off,
        spread=spread,
        tolerance=tolerance,
        odd_one=odd_one(amounts, tolerance),
        is_content_off=is_content_off,
    )


def recalculation_agrees(transfer: Transfer, volume: Quantity) -> bool:
    """Say whether a volume worked out from the order is the transfer's, to half its coarsest mark.

    Both the unrounded volume and the sum drawn at the marks count as right: the pharmacist may have
    rounded to the mark or not.
    """
    asked = number_in(volume, "mL")
    exact = number_in(transfer.required, "mL")
    first_turn = [draw for draw in transfer.draws if draw.turn == transfer.draws[0].turn]
    at_marks = sum((number_in(draw.target, "mL") for draw in first_turn), Decimal(0))
    half_mark = max(number_in(draw.syringe.mark, "mL") for draw in first_turn) / 2
    return min(abs(asked - exact), abs(asked - at_marks)) <= half_mark


def odd_one(amounts: dict[str, Decimal], tolerance: Decimal) -> str:
    """Return the one amount that differs from two that agree with each other."""
    for name, amount in amounts.items():
        others = [other for key, other in amounts.items() if key != name]
        if abs(others[0] - others[1]) <= tolerance and all(
            abs(amount - other) > tolerance for other in others
        ):
            return name
    return ""
