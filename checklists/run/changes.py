"""An order cancelled or changed, at every stage: also with the work already in the hood."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils import timezone

from checklists.models import Hold, Person, Preparation
from checklists.refusals import WrongRole
from checklists.run.bench import Bench
from checklists.run.typed import SHORT_REASON, reason_typed
from compounding.formulary import choices, intake
from compounding.formulary.models import Order

#: What of an order decides what is made, for whom, and what its label says.
MADE = (
    "formulation_id",
    "patient_name",
    "patient_identifier",
    "born_on",
    "allergies",
    "route",
    "body_weight",
    "height",
    "units",
)


def enter_order(*, person: Person, key: str, **fields: Any) -> Order:
    """Take an order in; once for its key."""
    with transaction.atomic(durable=True):
        return intake.enter_order(by=person.name, key=key, **fields)


def cancel_order(*, order: Order, reason: str, person: Person, key: str) -> None:
    """Cancel an order; work on it stops at once and can only be discarded."""
    with transaction.atomic(durable=True):
        if not _was_done(order, key):
            intake.cancel_order(order, reason=reason, by=person.name)
            _stop(order, person, key, Hold.Cause.ORDER_CANCELLED, reason)


def change_order(*, order: Order, person: Person, key: str, **fields: Any) -> Order:
    """Change an order: a new one takes its place, and work on the old one stops at once."""
    with transaction.atomic(durable=True):
        if _was_done(order, key):
            return Order.objects.get(supersedes=order)
        new = intake.change_order(order, by=person.name, key=key, **fields)
        _stop(order, person, key, Hold.Cause.ORDER_CHANGED, f"replaced by order {new.number}")
        return new


def choose_product(*, order: Order, gtin: str, reason: str, person: Person, key: str) -> None:
    """Have an equivalent product taken: the worksheet is reckoned anew when the order is opened next.

    Work on the old worksheet stops at once. Its record keeps it; the new one asks for the first check again.
    """
    if person.role != Person.Role.PHARMACIST:
        raise WrongRole(role=person.role, wanted="pharmacist")
    why = reason_typed(reason, SHORT_REASON)
    with transaction.atomic(durable=True):
        if order.choices.filter(key=key).exists():
            return
        now = timezone.now()
        worksheet = choices.choose(order, gtin, reason=why, by=person.name, at=now, key=key)
        taken = " and ".join(one.product for one in worksheet.ingredients)
        _stop(order, person, key, Hold.Cause.ORDER_CHANGED, f"another product is to be taken, {taken}: {why}")


def is_same_work(preparation: Preparation) -> bool:
    """Say whether the order that took over asks for the very same preparation: only then may work go on."""
    old = preparation.order
    new = old
    while new.state == "superseded":
        new = new.superseded_by
    same = all(getattr(old, name) == getattr(new, name) for name in MADE) and _is_of_choice(preparation)
    return new.state == "active" and same and _doses(old) == _doses(new) and not _is_made(new, preparation)


def _is_made(order: Order, preparation: Preparation) -> bool:
    """Say whether somebody has opened another preparation of that order in the meantime."""
    others = order.preparations.exclude(state=Preparation.State.DISCARDED).exclude(pk=preparation.pk)
    return others.exists()


def _is_of_choice(preparation: Preparation) -> bool:
    """Say whether the worksheet takes every product that was chosen for the order last."""
    taken = {one["product"] for one in preparation.worksheet["ingredients"]}
    last = {one.product.substance_id: one.product.gtin for one in preparation.order.choices.all()}
    return set(last.values()) <= taken


def _doses(order: Order) -> list[tuple[int, str]]:
    return sorted(order.doses.values_list("ingredient_id", "dose"))


def _was_done(order: Order, key: str) -> bool:
    return order.preparations.filter(entries__key=key).exists()


def _stop(order: Order, person: Person, key: str, cause: Hold.Cause, note: str) -> None:
    """Put every preparation of the order on hold; a released one only gets the news on record."""
    for preparation in order.preparations.select_for_update(no_key=True).exclude(
        state=Preparation.State.DISCARDED
    ):
        bench = Bench(preparation, person, timezone.now(), key)
        if preparation.state in (Preparation.State.RELEASED, Preparation.State.ON_PAPER):
            bench.write("order no longer asks for it", cause=cause.value, note=note)
        else:
            bench.open_hold(cause, note=note)
