"""The drawn plunger: by which steps a hand or a foot moves it, and when it alone declares a draw."""

from __future__ import annotations

from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import Quantity, number_in, of
from compounding.reckoning.worksheet import Syringe, Worksheet


def step_of(syringe: Syringe, policy: Policy) -> Quantity:
    """Return by how much one press moves the plunger: a mark, or half of one where half marks count."""
    mark = number_in(syringe.mark, "mL")
    return of(mark / 2 if mark >= number_in(policy.half_marks_from, "mL") else mark, "mL")


def is_asked(worksheet: Worksheet, draw: int, policy: Policy) -> bool:
    """Say whether this draw is declared by moving the drawn plunger, and never by one press at the mark."""
    if policy.always_by_plunger != "high-alert":
        return policy.always_by_plunger == "always"
    ingredient = worksheet.transfer_of(draw).ingredient
    return ingredient is not None and worksheet.ingredients[ingredient - 1].high_alert
