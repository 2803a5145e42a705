"""A second pharmacist reads the syringe too, as blind as the first, where the site's policy asks for it.

Two checkers who read apart: an independent double check (common practice, no source; the site decides for
which medicines). A second reading is a showing of its own whose facts say `second`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set

from checklists.method.planned import PlannedStep
from checklists.method.step_kinds import OfAKind
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet

#: What the policy may ask it for.
FOR = ("never", "hazardous", "high-alert", "hazardous or high-alert")


def read_twice(worksheet: Worksheet, policy: Policy) -> frozenset[int]:
    """Return the draws that two pharmacists read: all of a medicine that the policy names."""
    asked = policy.second_reader
    wanted = {
        number
        for number, one in enumerate(worksheet.ingredients, 1)
        if (one.hazardous and "hazardous" in asked) or (one.high_alert and "high-alert" in asked)
    }
    return frozenset(draw.number for t in worksheet.transfers if t.ingredient in wanted for draw in t.draws)


def is_second(step: OfAKind) -> bool:
    """Say whether a step is a second reading."""
    return step.kind == "show" and "second" in step.about


def second_of(step: OfAKind, wanted: Set[int]) -> Iterator[PlannedStep]:
    """Return the second reading that follows a showing: of those of its draws that are wanted."""
    if step.kind == "show" and not is_second(step):
        draws = [number for number in step.about["draws"] if number in wanted]
        if draws:
            yield PlannedStep("show", {"draws": draws, "second": 1})


def with_second(steps: Iterable[PlannedStep], wanted: Set[int]) -> tuple[PlannedStep, ...]:
    """Return the steps with a second reading after each showing of what is wanted."""
    return tuple(each for step in steps for each in (step, *second_of(step, wanted)))


def drawn_in(steps: Iterable[PlannedStep]) -> set[int]:
    """Return the draws that these steps fill."""
    found: set[int] = set()
    for step in steps:
        if step.kind == "draw":
            found.add(int(str(step.about["draw"])))
        elif step.kind == "draw_units":
            found.update(int(number) for number in step.about["draws"])  # type: ignore[union-attr]
    return found
