"""Opening an order, pausing and taking up the work, and giving it up."""

from __future__ import annotations

import secrets
from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from checklists import record
from checklists.method import procedure
from checklists.method.planned import PlannedStep
from checklists.method.step_kinds import KINDS
from checklists.models import Hood, Person, Preparation, Step
from checklists.refusals import (
    AlreadyAtWork,
    AlreadyBeingMade,
    HoodInUse,
    NotPaused,
    OrderNotActive,
    WrongRole,
)
from checklists.remains import Remains, account
from checklists.run.bench import GAP, Bench, act
from checklists.run.guards import refuse_on_hold, refuse_unless_working
from checklists.run.typed import reason_typed
from compounding.formulary import codes
from compounding.formulary.models import Order
from compounding.formulary.policy import current_policy
from compounding.formulary.worksheets import for_order
from compounding.reckoning.worksheet import Worksheet, to_plain

State = Preparation.State


def open_preparation(*, number: str, person: Person, key: str) -> Preparation:
    """Open an order: reckon and freeze its worksheet, compose its steps. Once for its key."""
    try:
        with transaction.atomic(durable=True):
            return _open(number, person, key)
    except IntegrityError:
        order = Order.objects.get(number=number)
        _refuse_if_busy(order, person)
        raise


def _open(number: str, person: Person, key: str) -> Preparation:
    order = (
        Order.objects.select_for_update(no_key=True)
        .select_related("formulation")
        .filter(number=number)
        .first()
    )
    if order is None:
        raise OrderNotActive(number=number, state="not known")
    existing = order.preparations.exclude(state=State.DISCARDED).first()
    if existing and record.was_done(existing, key):
        return existing
    if person.role != Person.Role.TECHNICIAN:
        raise WrongRole(role=person.role, wanted="technician")
    if order.state != "active":
        raise OrderNotActive(number=number, state=order.get_state_display().lower())
    _wait_for(person)
    _refuse_if_busy(order, person)
    return _put_down(order, person, key)


def _refuse_if_busy(order: Order, person: Person) -> None:
    made = order.preparations.exclude(state=State.DISCARDED).first()
    if made:
        raise AlreadyBeingMade(code=codes.grouped(made.code), technician=made.technician.name)
    _refuse_second(person)


def _wait_for(person: Person) -> None:
    """Let one begin one thing at a time, also who presses on two tablets at the same instant."""
    Person.objects.select_for_update(no_key=True).get(pk=person.pk)


def _refuse_second(person: Person) -> None:
    mine = Preparation.objects.filter(technician=person, state=State.IN_WORK).first()
    if mine:
        raise AlreadyAtWork(code=codes.grouped(mine.code), title=str(mine.worksheet["title"]))


def _put_down(order: Order, person: Person, key: str) -> Preparation:
    now = timezone.now()
    worksheet = for_order(order, started_at=now)
    preparation = Preparation.objects.create(
        code=codes.make("P", secrets.token_bytes(5)),
        order=order,
        worksheet=to_plain(worksheet),
        technician=person,
        opened_at=now,
        beyond_use_at=datetime.fromisoformat(worksheet.beyond_use_at),
    )
    steps = _compose(preparation, worksheet)
    steps[0].started_at = now
    Step.objects.bulk_create(steps)
    Bench(preparation, person, now, key).write(
        "open",
        order=order.number,
        worksheet=preparation.worksheet,
        steps=[[step.kind, step.about] for step in steps],
    )
    preparation.refresh_from_db()
    return preparation


def _compose(preparation: Preparation, worksheet: Worksheet) -> list[Step]:
    planned = procedure.compose(worksheet, current_policy())
    return [
        Step(preparation=preparation, place=GAP * (index + 1), kind=step.kind, about=step.about)
        for index, step in enumerate(planned)
    ]


@act
def pause(bench: Bench, *, reason: str) -> None:
    """Put the work aside. The hood stays occupied until everything is declared to be taken out."""
    refuse_unless_working(bench)
    put_aside(bench, reason_typed(reason))


def put_aside(bench: Bench, why: str) -> None:
    """Pause the work. Its place is kept; what is opened grows older meanwhile."""
    _to_state(bench, State.PAUSED)
    bench.write("pause", reason=why)


@act
def abandon(bench: Bench, *, reason: str) -> None:
    """Give the work up: nothing of it is used, the order goes back to the list. A hold is resolved first."""
    refuse_unless_working(bench)
    refuse_on_hold(bench)
    give_up(bench, reason_typed(reason))


def give_up(bench: Bench, why: str) -> None:
    """End the work, and account for what was used of it."""
    _to_state(bench, State.DISCARDED)
    bench.write("abandon", reason=why, **account(bench.preparation))


@act
def clear_hood(bench: Bench) -> None:
    """Declare everything of paused or discarded work taken out of the hood, and the surface wiped."""
    preparation = bench.preparation
    if preparation.state not in (State.PAUSED, State.DISCARDED):
        raise NotPaused(code=codes.grouped(preparation.code))
    if preparation.hood:
        Hood.objects.filter(pk=preparation.hood.pk).update(surface_wiped_at=bench.now)
    preparation.hood = None
    preparation.save(update_fields=["hood"])
    bench.write("clear hood", hood=preparation.made_in.name if preparation.made_in else "")


@act
def resume(bench: Bench) -> None:
    """Take up paused work, also somebody else's: both are then its makers."""
    preparation, person = bench.preparation, bench.person
    if person.role != Person.Role.TECHNICIAN:
        raise WrongRole(role=person.role, wanted="technician")
    if preparation.state != State.PAUSED:
        raise NotPaused(code=codes.grouped(preparation.code))
    _wait_for(person)
    _refuse_second(person)
    preparation.technician, preparation.state = person, State.IN_WORK
    preparation.save(update_fields=["technician", "state"])
    lay = lay_for(preparation, bench.now)
    _back_into_hood(bench)
    bench.write("resume", lay_seconds=lay)


def lay_for(preparation: Preparation, now: datetime) -> int:
    """Return for how many seconds paused work has lain."""
    paused = preparation.entries.filter(act="pause").last()
    return int((now - paused.at).total_seconds()) if paused else 0


def _back_into_hood(bench: Bench) -> None:
    """After everything was taken out, the hood is entered and made ready anew; else gloves come first."""
    step = bench.step
    if step is None:
        return
    if bench.preparation.hood is not None:
        if KINDS[step.kind].is_in_hood and step.kind != "disinfect_gloves":
            bench.put_in_now(procedure.hands_back(bench.policy))
        return
    entering = _entering(bench, step)
    if entering:
        bench.put_in_now(entering)


def _entering(bench: Bench, step: Step) -> tuple[PlannedStep, ...]:
    """Return how the hood is entered anew when everything was taken out, as far as it was entered."""
    left = [KINDS[one.kind] for one in bench.preparation.steps.filter(finished_at=None)]
    entering = procedure.enter_hood(bench.policy)
    kinds = [planned.kind for planned in entering]
    if "identify_hood" in {kind.name for kind in left} or not any(kind.is_in_hood for kind in left):
        return ()
    if "arrange" in {kind.name for kind in left} and step.kind in kinds:
        return entering[: kinds.index(step.kind)]
    return (*entering, *procedure.make_ready(Remains(bench.preparation).sites(), bench.policy))


def _to_state(bench: Bench, state: Preparation.State) -> None:
    preparation = bench.preparation
    preparation.state = state
    if state == State.DISCARDED:
        preparation.ended_at = bench.now
    preparation.save(update_fields=["state", "ended_at"])


def occupy_hood(bench: Bench, hood: Hood) -> None:
    """Take a hood for this preparation, or say which preparation is in it."""
    other = Preparation.objects.filter(hood=hood).exclude(pk=bench.preparation.pk).first()
    if other:
        raise HoodInUse(hood=hood.name, code=codes.grouped(other.code), technician=other.technician.name)
    bench.preparation.hood = bench.preparation.made_in = hood
    bench.preparation.save(update_fields=["hood", "made_in"])
