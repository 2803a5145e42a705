"""Opening an order, pausing and taking up the work, and giving it up."""

from __future__ import annotations

import secrets
from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from checklists import record
from checklists.controlled import containers_of
from checklists.method import procedure
from checklists.method.site_steps import SiteStep
from checklists.method.step_kinds import Stage
from checklists.models import Hood, Person, Preparation, Step
from checklists.refusals import (
    AlreadyAtWork,
    AlreadyBeingMade,
    HoodInUse,
    NotPaused,
    OrderNotActive,
    WrongRole,
)
from checklists.remains import account
from checklists.run import garbing, returning
from checklists.run.bench import GAP, Bench, act
from checklists.run.clockwork import refuse_leap
from checklists.run.fitness import refuse_unqualified
from checklists.run.guards import refuse_on_hold, refuse_unless_working
from checklists.run.typed import reason_typed
from checklists.run.waste import refuse_unwitnessed
from compounding.formulary import codes
from compounding.formulary.models import Order
from compounding.formulary.policy import current_policy
from compounding.formulary.worksheets import for_order
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet, to_plain

State = Preparation.State


def open_preparation(*, number: str, person: Person, key: str) -> Preparation:
    """Open an order: reckon and freeze its worksheet, compose its steps. Once for its key."""
    refuse_leap(person)
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
    refuse_unwitnessed(person)
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
    policy = current_policy()
    garbed = garbing.standing(person, worksheet, policy, now)
    steps = _compose(preparation, worksheet, policy, is_garbed=garbed is not None)
    steps[0].started_at = now
    Step.objects.bulk_create(steps)
    Bench(preparation, person, now, key).write(
        "open",
        order=order.number,
        worksheet=preparation.worksheet,
        steps=[[step.kind, step.about] for step in steps],
        garbed_at=garbed.at.isoformat() if garbed else "",
    )
    preparation.refresh_from_db()
    return preparation


def _compose(
    preparation: Preparation, worksheet: Worksheet, policy: Policy, *, is_garbed: bool
) -> list[Step]:
    """Return the steps, with those that the formulation adds as they are now: frozen with all others."""
    own = [
        SiteStep(one.text, one.why, Stage(one.stage), one.is_before, one.seconds)
        for one in preparation.order.formulation.own_steps.all()
    ]
    planned = procedure.compose(
        worksheet, policy, is_garbed=is_garbed, own=own, controlled=containers_of(worksheet)
    )
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
    garbing.end(bench.person, garbing.Ending.PAUSED, bench.now)
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
    garbing.end(bench.person, garbing.Ending.GIVEN_UP, bench.now)
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
    if preparation.made_in_id:  # what was begun in a hood goes on in one
        today = timezone.localdate(bench.now)
        refuse_unqualified(person, today, hazardous=bench.worksheet.hazardous)
    _wait_for(person)
    _refuse_second(person)
    is_another = preparation.technician_id != person.pk
    preparation.technician, preparation.state = person, State.IN_WORK
    preparation.save(update_fields=["technician", "state"])
    lay = lay_for(preparation, bench.now)
    returning.put_in(bench, is_another=is_another)
    bench.write("resume", lay_seconds=lay)


def lay_for(preparation: Preparation, now: datetime) -> int:
    """Return for how many seconds paused work has lain."""
    paused = preparation.entries.filter(act="pause").last()
    return int((now - paused.at).total_seconds()) if paused else 0


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
