"""Work that was put aside is taken up: what its taker does again before it goes on where it stopped."""

from __future__ import annotations

from collections.abc import Sequence

from checklists.method import procedure
from checklists.method.planned import PlannedStep
from checklists.method.step_kinds import Stage, row_of
from checklists.models import Step
from checklists.remains import Remains
from checklists.run import garbing
from checklists.run.bench import Bench

#: From the label on the unit is closed; it may be finished outside the hood.
CLOSED = (Stage.LABEL, Stage.DISPOSE, Stage.HAND_OVER, Stage.RELEASE)


def put_in(bench: Bench, *, is_another: bool) -> None:
    """Put the steps in that come first: garb, the hood and its readiness, or gloves alone."""
    step = bench.step
    if step and row_of(step).stage not in CLOSED:
        first = _first(bench, step, is_another)
        if first:
            bench.put_in_now(first)


def _first(bench: Bench, step: Step, is_another: bool) -> tuple[PlannedStep, ...]:
    """Return them: where the hood was kept by the same technician, hands go back; else it is entered anew."""
    garb, row = _garb(bench, step), row_of(step)
    if bench.preparation.hood is not None:
        is_back = row.is_in_hood and step.kind != "disinfect_gloves"
        return (*(garb if is_another else ()), *(procedure.hands_back(bench.policy) if is_back else ()))
    return (*garb, *_entering(bench, step))


def _entering(bench: Bench, step: Step) -> tuple[PlannedStep, ...]:
    """Return how the hood is entered anew when everything was taken out, as far as it was entered."""
    left = bench.preparation.steps.filter(finished_at=None)
    kinds = {one.kind for one in left}
    entering = procedure.enter_hood(bench.policy, hazardous=bench.worksheet.hazardous)
    if "identify_hood" in kinds or not any(row_of(one).is_in_hood for one in left):
        return ()
    if "arrange" in kinds and step.kind in {planned.kind for planned in entering}:
        return _before(entering, step)
    return (*entering, *procedure.make_ready(Remains(bench.preparation).sites(), bench.policy))


def _garb(bench: Bench, step: Step) -> tuple[PlannedStep, ...]:
    """Return the garbing that is due now: none while it still lies ahead."""
    garb = garbing.anew(bench)
    if step.kind in {planned.kind for planned in garb}:
        return _before(garb, step)
    is_ahead = bench.preparation.steps.filter(kind="put_on_gloves", finished_at=None).exists()
    return () if is_ahead else garb


def _before(planned: Sequence[PlannedStep], step: Step) -> tuple[PlannedStep, ...]:
    kinds = [one.kind for one in planned]
    return tuple(planned[: kinds.index(step.kind)] if step.kind in kinds else planned)
