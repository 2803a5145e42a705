"""Who may look: at papers that hold the amounts, and at the photograph of a syringe."""

from __future__ import annotations

from collections.abc import Iterator

from checklists import darkroom
from checklists.independence import is_maker, readable
from checklists.models import Person, Photograph, Preparation
from checklists.refusals import NoSuchPhotograph, StillBlind
from checklists.worklists import checks
from compounding.formulary.models import Order
from compounding.reckoning.refusals import Refusal

ENDED = (Preparation.State.RELEASED, Preparation.State.DISCARDED, Preparation.State.ON_PAPER)


def refuse_while_blind(preparation: Preparation, person: Person) -> None:
    """Keep papers that hold the amounts from whoever may still have to read a syringe blind.

    While a hold is open any syringe of it may have to be read again. While a draw is shown, no screen that
    may lie beside the checker shows it either. What was made before of the same order holds the same amounts.
    """
    under_way = Preparation.objects.filter(order__in=_versions(preparation.order)).exclude(state__in=ENDED)
    for one in under_way:
        _refuse(one, person)


def _refuse(preparation: Preparation, person: Person) -> None:
    unread = preparation.steps.filter(kind__in=("first_check", "show"), finished_at=None)
    held = preparation.holds.filter(resolved_at=None).exists()
    if person.role == Person.Role.PHARMACIST and (held or unread.exists()):
        raise StillBlind()
    if unread.filter(kind="show").exclude(started_at=None).exists():
        raise StillBlind()


def _versions(order: Order) -> Iterator[int]:
    """Yield the order and every other version of it."""
    older, newer = order.supersedes, Order.objects.filter(supersedes=order).first()
    yield order.pk
    while older:
        yield older.pk
        older = older.supersedes
    while newer:
        yield newer.pk
        newer = Order.objects.filter(supersedes=newer).first()


def picture(preparation: Preparation, number: int, person: Person) -> bytes:
    """Return a photograph for somebody who may see it."""
    found = preparation.photographs.filter(pk=number).select_related("step").first()
    if found is None or not may_see(preparation, found, person):
        raise NoSuchPhotograph()
    return darkroom.read_back(found.file)


def may_see(preparation: Preparation, photograph: Photograph, person: Person) -> bool:
    """Say who may see a photograph: its makers, a checker at that very check, later who reads the record."""
    if preparation.state in ENDED:
        return _is_open(preparation, person)
    if person.role == Person.Role.TECHNICIAN:
        return is_maker(preparation, person)
    return person.role == Person.Role.PHARMACIST and _is_at_the_check(preparation, photograph, person)


def _is_open(preparation: Preparation, person: Person) -> bool:
    try:
        refuse_while_blind(preparation, person)
    except StillBlind:
        return False
    return True


def _is_at_the_check(preparation: Preparation, photograph: Photograph, person: Person) -> bool:
    try:
        step = checks.step_for(preparation, photograph.step.place, person)
    except Refusal:
        return False
    return photograph in readable(step, preparation)
