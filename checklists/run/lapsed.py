"""What has run out: the step that mends it is put in by itself, or what it would spoil is refused.

Hands and outer gloves are mended before anything else is touched, also when their time ends in the middle of
a step. The surface is wiped before the next transfer begins, never between a draw and its add: work
that is under way is not disrupted (USP <797> 2023, memory). What nothing mends is refused in words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from django.utils import timezone

from checklists import clocks
from checklists.clocks import MENDED_BY, MENDS_HANDS, Clock, Name
from checklists.method import procedure
from checklists.method.procedure import PlannedStep
from checklists.method.step_kinds import Actor, Stage, Takes
from checklists.models import Preparation, Step
from checklists.refusals import BeyondUseOver, ContainerOver, InProcessOver
from checklists.remains import Remains

if TYPE_CHECKING:
    from checklists.run.bench import Bench

MENDING = frozenset({*MENDS_HANDS, *MENDED_BY[Name.SURFACE], *MENDED_BY[Name.GLOVES]})


def due(bench: Bench, step: Step, *, begins: bool = True) -> tuple[PlannedStep, ...]:
    """Return the steps that come before `step` because something has run out; none where nothing has.

    Each of them says why, in `because`. `begins` is false where the step was shown before.
    """
    kind = bench.kind(step)
    if kind.actor is not Actor.MAKER or not kind.is_in_hood or step.kind in MENDING:
        return ()
    names = {clock.name for clock in _over(bench)}
    are_out = clocks.are_hands_out(bench.preparation)
    # What is put in before it lets the step begin anew.
    begins = begins or are_out or Name.GLOVES in names
    planned: list[PlannedStep] = []
    if Name.SURFACE in names and begins and _begins_a_transfer(bench, step):
        planned += _because(Name.SURFACE, (PlannedStep("wipe_surface", _drying(bench)),))
        planned += _because("hands", procedure.hands_back(bench.policy))
    if Name.GLOVES in names:
        changed = procedure.new_gloves(bench.policy)
        planned += _because(Name.GLOVES, changed)
    elif are_out and not planned:
        planned += _because("hands", procedure.hands_back(bench.policy))
    return tuple(planned)


def put_in_first(bench: Bench, step: Step, *, begins: bool = False) -> bool:
    """Put in what is due before the step that is shown, and say whether anything was."""
    planned = due(bench, step, begins=begins)
    if planned:
        bench.write(
            "put in", before=step.kind, place=step.place, steps=[[one.kind, one.about] for one in planned]
        )
        bench.put_in_now(planned)
    return bool(planned)


def mend_after_hold(bench: Bench) -> None:
    """Mend what ran out while the work was stopped: the step that was shown then may have begun long ago."""
    step = bench.step
    if step and bench.preparation.state == Preparation.State.IN_WORK and not bench.is_on_hold:
        put_in_first(bench, step, begins=True)


def refuse_over(bench: Bench, step: Step) -> None:
    """Refuse to finish a step in the hood that something with no mending has made worthless."""
    kind = bench.kind(step)
    if not kind.is_in_hood or step.kind in MENDING:
        return
    for clock in _over(bench):
        if clock.name in REFUSALS:
            REFUSALS[clock.name](bench, step, clock)


def names_over(bench: Bench) -> list[str]:
    """Return what has run out and can be mended, as the record keeps it beside a draw taken meanwhile."""
    return sorted({clock.name.value for clock in _over(bench) if clock.name in MENDED_BY})


def _over(bench: Bench) -> tuple[Clock, ...]:
    return clocks.over(clocks.running(bench.preparation, bench.policy, bench.when), bench.when)


def _drying(bench: Bench) -> dict[str, str | int | list[str] | list[int]]:
    return {"seconds": bench.policy.alcohol_dry_seconds}


def _because(name: str, planned: tuple[PlannedStep, ...]) -> Iterator[PlannedStep]:
    for step in planned:
        yield PlannedStep(step.kind, {**step.about, "because": str(name)})


def _begins_a_transfer(bench: Bench, step: Step) -> bool:
    """Say whether nothing lies filled and open: sites are made ready, or the first syringe is filled."""
    stage = bench.kind(step).stage
    before = bench.preparation.steps.filter(place__lt=step.place).exclude(kind__in=MENDING).last()
    is_under_way = before is not None and bench.kind(before).stage in (Stage.DRAW, Stage.SHOW)
    return stage is Stage.READY or (stage is Stage.DRAW and not is_under_way)


def _refuse_container(bench: Bench, step: Step, clock: Clock) -> None:
    if bench.kind(step).takes is not Takes.READING:
        return
    numbers = step.about.get("draws") or [step.about["draw"]]
    remains = Remains(bench.preparation)
    sources = {portion.container for number in numbers for portion in remains.draw(number).sources}
    if clock.of in sources:
        raise ContainerOver(container=clock.of.capitalize(), opened=_time(clock))


def _refuse_in_process(bench: Bench, step: Step, clock: Clock) -> None:
    raise InProcessOver(since=_time(clock), hours=str(bench.policy.in_process_hours))


def _refuse_beyond_use(bench: Bench, step: Step, clock: Clock) -> None:
    raise BeyondUseOver()


def _time(clock: Clock) -> str:
    return f"{timezone.localtime(clock.since):%H:%M}"


REFUSALS: dict[Name, Callable[[Bench, Step, Clock], None]] = {
    Name.CONTAINER: _refuse_container,
    Name.IN_PROCESS: _refuse_in_process,
    Name.BEYOND_USE: _refuse_beyond_use,
}
