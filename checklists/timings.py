"""How long each step took, and waiting for a checker apart from working."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from checklists.method.step_kinds import Actor, row_of
from checklists.models import Preparation, Step

NOTHING = timedelta(0)


@dataclass(frozen=True)
class StepTime:
    """One finished step: worked on, or waited for and then checked; a counted one also unit by unit."""

    number: int
    kind: str
    stage: str
    by: str
    started_at: datetime
    finished_at: datetime
    worked: timedelta
    waited: timedelta
    checked: timedelta
    reason: str
    per_unit: tuple[timedelta, ...] = ()


@dataclass(frozen=True)
class Total:
    """The sums of one preparation. `held` lies within the others' wall time, not beside it."""

    wall: timedelta
    worked: timedelta
    waited: timedelta
    checked: timedelta
    held: timedelta


def step_times(preparation: Preparation) -> tuple[StepTime, ...]:
    """Return every finished step of the preparation with its times."""
    steps = preparation.steps.select_related("finished_by").prefetch_related("stamps")
    return tuple(
        _time(number, step) for number, step in enumerate(steps, 1) if step.finished_at and step.started_at
    )


def total(preparation: Preparation, times: Iterable[StepTime], now: datetime) -> Total:
    """Return the sums of a preparation."""
    times = tuple(times)
    holds = preparation.holds.all()
    return Total(
        wall=(preparation.ended_at or now) - preparation.opened_at,
        worked=sum((time.worked for time in times), NOTHING),
        waited=sum((time.waited for time in times), NOTHING),
        checked=sum((time.checked for time in times), NOTHING),
        held=sum(((hold.resolved_at or now) - hold.opened_at for hold in holds), NOTHING),
    )


def _time(number: int, step: Step) -> StepTime:
    kind, started, finished = row_of(step), step.started_at, step.finished_at
    assert started is not None
    assert finished is not None
    is_check = kind.actor is Actor.CHECKER
    taken = (step.taken_at or finished) if is_check else started
    return StepTime(
        number=number,
        kind=step.kind,
        stage=kind.stage.value,
        by=step.finished_by.name if step.finished_by else "",
        started_at=started,
        finished_at=finished,
        worked=NOTHING if is_check else finished - started,
        waited=taken - started if is_check else NOTHING,
        checked=finished - taken if is_check else NOTHING,
        reason=step.reason,
        per_unit=_per_unit(step, started) if kind.is_counted else (),
    )


def _per_unit(step: Step, started: datetime) -> tuple[timedelta, ...]:
    """Return how long each unit took: from the one before it, the first from the step's start."""
    ends = [stamp.at for stamp in step.stamps.all()]
    # Work that was put aside starts its step anew, after some units were done.
    return tuple(max(end - begun, NOTHING) for begun, end in pairwise([started, *ends]))
