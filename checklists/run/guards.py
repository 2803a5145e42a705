"""What every act asks first: is the work open, is it this person's, is this their step?"""

from __future__ import annotations

from checklists.independence import is_maker, was_shown, why_not_blind
from checklists.method.step_kinds import Actor
from checklists.models import Person, Preparation, Step
from checklists.refusals import (
    NotIndependent,
    NotInTheHood,
    NotOpen,
    NotYours,
    OnHold,
    OutOfOrder,
    ReckonedAmountsShown,
    WrongRole,
)
from checklists.run.bench import Bench
from compounding.formulary import codes

CHECKABLE = (Preparation.State.IN_WORK, Preparation.State.HANDED_OVER)


def refuse_unless_working(bench: Bench) -> None:
    """Refuse unless the preparation is in work and the person is the technician at it."""
    preparation = bench.preparation
    if preparation.state != Preparation.State.IN_WORK:
        raise NotOpen(code=codes.grouped(preparation.code), state=preparation.get_state_display())
    if preparation.technician_id != bench.person.pk:
        raise NotYours(code=codes.grouped(preparation.code), technician=preparation.technician.name)


def refuse_unless_in_hood(bench: Bench) -> Step:
    """Return the step that the work has come to; refuse where it is not done in the hood."""
    step = bench.step
    if step is None or not bench.kind(step).is_in_hood:
        raise NotInTheHood()
    return step


def refuse_on_hold(bench: Bench) -> None:
    """Refuse while a hold is open."""
    hold = bench.preparation.holds.filter(resolved_at=None).first()
    if hold:
        raise OnHold(cause=hold.get_cause_display())


def makers_step(bench: Bench, place: int) -> Step:
    """Return the technician's step at `place`, once the work has come to it and nothing stops it."""
    refuse_unless_working(bench)
    refuse_on_hold(bench)
    return _current(bench, place, Actor.MAKER)


def checkers_step(bench: Bench, place: int) -> Step:
    """Return the checker's step at `place`, for a pharmacist who made no part of it."""
    refuse_unless_independent(bench)
    if bench.preparation.state not in CHECKABLE:
        raise NotOpen(code=codes.grouped(bench.preparation.code), state=bench.preparation.get_state_display())
    refuse_on_hold(bench)
    return _current(bench, place, Actor.CHECKER)


def refuse_unless_independent(bench: Bench) -> None:
    """Refuse anyone but a pharmacist who made no part of the preparation."""
    if bench.person.role != Person.Role.PHARMACIST:
        raise WrongRole(role=bench.person.role, wanted="pharmacist")
    if is_maker(bench.preparation, bench.person):
        raise NotIndependent(name=bench.person.name)


def refuse_if_seen(bench: Bench, draw: int) -> None:
    """Refuse a reading by somebody who has been shown the amounts of that draw, or has read it."""
    reason = why_not_blind(bench.preparation, draw, bench.person)
    if reason:
        raise reason


def refuse_if_shown(bench: Bench) -> None:
    """Refuse a first check by somebody who was shown what the worksheet reckons."""
    if was_shown(bench.preparation, bench.person):
        raise ReckonedAmountsShown(name=bench.person.name)


def _current(bench: Bench, place: int, actor: Actor) -> Step:
    step = bench.step
    if step is None or step.place != place or bench.kind(step).actor is not actor:
        raise OutOfOrder()
    return step
