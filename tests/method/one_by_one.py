"""A procedure with its counted steps gone through one by one, so that every rule is asked of each unit."""

from __future__ import annotations

from collections.abc import Iterator

from checklists.method import procedure
from checklists.method.batch import items_of
from checklists.method.planned import PlannedStep
from checklists.method.step_kinds import KINDS
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet


def compose(worksheet: Worksheet, policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps as if each unit had its own."""
    steps = procedure.compose(worksheet, policy)
    return tuple(one for step in steps for one in one_by_one(step, worksheet))


def one_by_one(step: PlannedStep, worksheet: Worksheet) -> Iterator[PlannedStep]:
    if not KINDS[step.kind].is_counted:
        yield step
        return
    for item in items_of(step.about, worksheet):
        if step.kind == "draw_units":
            yield PlannedStep("draw", {"draw": item.draw})
            has_filter = step.about["has_filter_needle"]
            yield PlannedStep("cap_syringe", {"draw": item.draw, "has_filter_needle": has_filter})
        elif step.kind == "gather_each":
            yield PlannedStep("gather_container", {"container": item.container})
        elif step.kind == "add_units":
            yield PlannedStep("add", {"draw": item.draw})
        elif step.kind == "push_units":
            yield PlannedStep("push_over", {"draw": item.draw})
        elif step.kind == "cap_units":
            yield PlannedStep("cap_final", {"unit": item.unit})
        else:
            yield PlannedStep("apply_label", {"unit": item.unit})
