"""The procedure: from a worksheet to the ordered steps of the work.

What is opened, its container, the final container and the policy decide the steps. `about` holds the
step's own facts: plain text, whole numbers and lists of them.

`garbing` cleans and covers hands, `entering` brings the work into the hood, `transferring` draws, shows and
adds (`drawing` by the container, `syringes` and `pooled` into syringes that are the units), `hazard` keeps a
hazardous drug in, and what is here begins and ends the work. The airflow of the hood changes words and
pictures, not steps: the hood is known only when its plate is scanned.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from checklists.method.batch import gathered, is_batch
from checklists.method.planned import About, PlannedStep, drying, shown
from checklists.method.procedure.drawing import filled, swabbed_again
from checklists.method.procedure.entering import enter_hood, hands_back, make_ready, sites_of
from checklists.method.procedure.garbing import garb, new_gloves
from checklists.method.procedure.hazard import cleaned, devices, leaving, sealed
from checklists.method.procedure.pooled import is_pooled
from checklists.method.procedure.syringes import draw_and_cap, labelled
from checklists.method.procedure.transferring import transferred
from checklists.method.second_reading import read_twice, with_second
from checklists.method.site_steps import SiteStep, with_site_steps
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Draw, FinalContainer, Worksheet

__all__ = [
    "About",
    "PlannedStep",
    "compose",
    "draw_again",
    "enter_hood",
    "garb",
    "hands_back",
    "labelled",
    "make_ready",
    "new_gloves",
    "read_again",
    "sites_of",
]


def compose(
    worksheet: Worksheet,
    policy: Policy,
    *,
    is_garbed: bool = False,
    own: Sequence[SiteStep] = (),
    controlled: Sequence[str] = (),
) -> tuple[PlannedStep, ...]:
    """Return every step of the work, from reading the worksheet to release.

    `is_garbed`: the technician's garbing of this session still stands. `own`: steps that the formulation
    adds. `controlled`: containers whose rest is destroyed before a witness.
    """
    steps = (
        PlannedStep("read_worksheet", {}),
        *_gather(worksheet),
        PlannedStep("first_check", {}),
        PlannedStep("wipe_items", drying(policy)),
        *(() if is_garbed else garb(policy)),
        *enter_hood(policy, hazardous=worksheet.hazardous),
        *make_ready(sites_of(worksheet), policy),
        *devices(worksheet),
        *transferred(worksheet, policy),
        *leaving(worksheet, policy),
        *_finish(worksheet, policy, controlled),
    )
    return with_site_steps(with_second(steps, read_twice(worksheet, policy)), own)


def draw_again(
    worksheet: Worksheet, numbers: Iterable[int], policy: Policy | None = None
) -> tuple[PlannedStep, ...]:
    """Return the steps that draw some syringes a second time and show them.

    With the policy given, sites are swabbed anew first; without, whoever puts the steps in has seen to it.
    """
    draws = [worksheet.draw(number) for number in numbers]
    is_unit = worksheet.final_container is FinalContainer.SYRINGE and not is_pooled(worksheet)
    sources = [portion.container for draw in draws for portion in draw.sources]
    return (
        *(swabbed_again(worksheet, sources, policy) if policy else ()),
        *(draw_and_cap(worksheet, draws) if is_unit else _refilled(worksheet, draws)),
        shown(draws),
    )


def read_again(numbers: Iterable[int]) -> tuple[PlannedStep, ...]:
    """Return the step that shows the same syringes to another checker."""
    return (PlannedStep("show", {"draws": list(numbers)}),)


def _refilled(worksheet: Worksheet, draws: Iterable[Draw]) -> Iterator[PlannedStep]:
    """Return the steps that fill syringes again: an ampoule that was opened stays open."""
    return (step for step in filled(worksheet, draws) if step.kind != "open_ampoule")


def _gather(worksheet: Worksheet) -> Iterator[PlannedStep]:
    yield from gathered(worksheet.containers)
    yield PlannedStep("gather_supplies", {})
    yield PlannedStep("print_label", {})


def _finish(worksheet: Worksheet, policy: Policy, controlled: Sequence[str]) -> Iterator[PlannedStep]:
    yield from labelled(worksheet, range(1, worksheet.units + 1))
    if worksheet.protect_from_light:
        yield PlannedStep("cover_from_light", {})
    yield from sealed(worksheet)
    yield PlannedStep("dispose", {})
    if controlled:
        yield PlannedStep("account_waste", {"containers": list(controlled)})
    if is_batch(worksheet):
        yield PlannedStep("reconcile", {})
    yield PlannedStep("hand_over", {})
    yield from cleaned(worksheet, policy)
    yield PlannedStep("clean_up", drying(policy))
    yield PlannedStep("final_check", {})
    yield PlannedStep("release", {})
