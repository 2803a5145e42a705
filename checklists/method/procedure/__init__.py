"""The procedure: from a worksheet to the ordered steps of the work.

What is opened, its container, the final container and the policy decide the steps. `about` holds the
step's own facts: plain text, whole numbers and lists of them.

`entering` brings the work into the hood, `transferring` draws, shows and adds, `syringes` fills syringes that
are the units, and what is here begins and ends it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from checklists.method.batch import drawn_for, is_batch
from checklists.method.planned import About, PlannedStep, drying, shown
from checklists.method.procedure.entering import enter_hood, hands_back, make_ready, sites_of
from checklists.method.procedure.syringes import draw_and_cap, labelled
from checklists.method.procedure.transferring import transferred
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import FinalContainer, Worksheet

__all__ = [
    "About",
    "PlannedStep",
    "compose",
    "draw_again",
    "enter_hood",
    "hands_back",
    "labelled",
    "make_ready",
    "read_again",
    "sites_of",
]


def compose(worksheet: Worksheet, policy: Policy) -> tuple[PlannedStep, ...]:
    """Return every step of the work, from reading the worksheet to release."""
    return (
        PlannedStep("read_worksheet", {}),
        *_gather(worksheet),
        PlannedStep("first_check", {}),
        PlannedStep("wipe_items", drying(policy)),
        *enter_hood(policy),
        *make_ready(sites_of(worksheet), policy),
        *transferred(worksheet, policy),
        *_finish(worksheet, policy),
    )


def draw_again(worksheet: Worksheet, numbers: Iterable[int]) -> tuple[PlannedStep, ...]:
    """Return the steps that draw some syringes a second time and show them."""
    draws = [worksheet.draw(number) for number in numbers]
    is_syringe = worksheet.final_container is FinalContainer.SYRINGE
    again = draw_and_cap(worksheet, draws) if is_syringe else drawn_for(worksheet, draws)
    return (*again, shown(draws))


def read_again(numbers: Iterable[int]) -> tuple[PlannedStep, ...]:
    """Return the step that shows the same syringes to another checker."""
    return (PlannedStep("show", {"draws": list(numbers)}),)


def _gather(worksheet: Worksheet) -> Iterator[PlannedStep]:
    for container in worksheet.containers:
        yield PlannedStep("gather_container", {"container": container.key})
    yield PlannedStep("gather_supplies", {})
    yield PlannedStep("print_label", {})


def _finish(worksheet: Worksheet, policy: Policy) -> Iterator[PlannedStep]:
    yield from labelled(worksheet, range(1, worksheet.units + 1))
    if worksheet.protect_from_light:
        yield PlannedStep("cover_from_light", {})
    yield PlannedStep("dispose", {})
    if is_batch(worksheet):
        yield PlannedStep("reconcile", {})
    yield PlannedStep("hand_over", {})
    yield PlannedStep("clean_up", drying(policy))
    yield PlannedStep("final_check", {})
    yield PlannedStep("release", {})
