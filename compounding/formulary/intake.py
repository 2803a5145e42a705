"""The only way an order comes in, changes or is cancelled. A change is a new row that supersedes the old."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Unpack

from django.db import IntegrityError, transaction
from django.utils import timezone

from compounding.formulary import codes, requisition
from compounding.formulary.models import Order, OrderDose
from compounding.formulary.models.orders import OrderState
from compounding.formulary.policy import weight_days
from compounding.formulary.refusals import OrderClosed, OrderRefused
from compounding.formulary.requisition import Requisition
from compounding.formulary.typed import OrderFields, Typed

LONGEST_NAME = 80
LONGEST_KEY = 64


@dataclass(frozen=True)
class Entry:
    """Who entered an order, when, and the key of the act."""

    by: str
    at: datetime
    key: str


def enter_order(
    *, by: str, at: datetime | None = None, key: str = "", **fields: Unpack[OrderFields]
) -> Order:
    """Return the new order of these typed fields; the same one again for the same key.

    Refuses OrderRefused, with a sentence for each field.
    """
    at = at or timezone.now()
    return _once(key, lambda: _taken(requisition.read(fields, at), Entry(by, at, key)))


def change_order(
    order: Order, *, by: str, at: datetime | None = None, key: str = "", **fields: Unpack[OrderFields]
) -> Order:
    """Return the order that supersedes this one: its fields with those given in their place.

    `reason` is needed; the same key gives the same order again. Refuses OrderRefused, and OrderClosed for an
    order that is no longer active.
    """
    entry = Entry(by, at or timezone.now(), key)
    return _once(key, lambda: _replaced(order, fields, entry))


def cancel_order(order: Order, *, reason: str, by: str, at: datetime | None = None) -> Order:
    """Return the order, cancelled. Refuses OrderRefused without a reason, OrderClosed if it is not active."""
    with transaction.atomic():
        open_order = _open_order(order)
        text = _reason({"reason": reason})
        _close(open_order, OrderState.CANCELLED, text, by, at or timezone.now())
        return open_order


def as_typed(order: Order) -> OrderFields:
    """Return an order's fields as they would be typed, to begin a change with."""
    return {
        "formulation": order.formulation.code,
        "patient_name": order.patient_name,
        "patient_identifier": order.patient_identifier,
        "born_on": _written(order.born_on),
        "allergies": order.allergies,
        "route": order.route,
        "body_weight": order.body_weight,
        "weighed_on": _written(order.weighed_on),
        "height": order.height,
        "prescriber": order.prescriber,
        "ward": order.ward,
        "units": str(order.units),
        "due_at": timezone.localtime(order.due_at).strftime("%Y-%m-%dT%H:%M"),
        "doses": {dose.ingredient.field: dose.dose for dose in order.doses.select_related("ingredient")},
    }


def order_warnings(order: Order, on: date) -> tuple[str, ...]:
    """Return what a pharmacist should know of an order on a day that does not forbid it."""
    found = []
    if order.weighed_on and (on - order.weighed_on).days > weight_days():
        days = (on - order.weighed_on).days
        found.append(f"The body weight is {days} days old. Have the patient weighed, or confirm it.")
    return tuple(found)


def _written(day: date | None) -> str:
    return day.isoformat() if day else ""


def _open_order(order: Order) -> Order:
    locked = Order.objects.select_for_update(no_key=True).get(pk=order.pk)
    if locked.state != OrderState.ACTIVE:
        raise OrderClosed(number=codes.grouped(locked.number), state=locked.state, reason=locked.reason)
    return locked


def _reason(fields: OrderFields) -> str:
    typed = Typed(fields)
    reason = typed.text("reason", "The reason is missing. Write why in a few words.")
    if typed.by_field:
        raise OrderRefused(typed.by_field)
    return reason


def _once(key: str, act: Callable[[], Order]) -> Order:
    """Do an act once for its key, also when two devices send it at the same moment."""
    done = Order.objects.filter(key=key[:LONGEST_KEY]) if key else Order.objects.none()
    try:
        with transaction.atomic():
            return done.first() or act()
    except IntegrityError:
        if not key:
            raise
        return done.get()


def _replaced(order: Order, fields: OrderFields, entry: Entry) -> Order:
    old = _open_order(order)
    merged = OrderFields(**{**as_typed(old), **fields})
    reason = _reason(merged)
    new = _taken(requisition.read(merged, entry.at), entry, old)
    _close(old, OrderState.SUPERSEDED, reason, entry.by, entry.at)
    return new


def _taken(asked: Requisition, entry: Entry, supersedes: Order | None = None) -> Order:
    order = Order.objects.create(
        **asked.columns,
        number=codes.make(codes.Kind.ORDER, secrets.token_bytes(5)),
        key=entry.key[:LONGEST_KEY] or None,
        supersedes=supersedes,
        entered_by=entry.by[:LONGEST_NAME],
        entered_at=entry.at,
    )
    OrderDose.objects.bulk_create(
        OrderDose(order=order, ingredient=ingredient, dose=dose) for ingredient, dose in asked.doses
    )
    return order


def _close(order: Order, state: OrderState, reason: str, by: str, at: datetime) -> None:
    order.state, order.reason, order.closed_by, order.closed_at = state, reason, by[:LONGEST_NAME], at
    order.save(update_fields=["state", "reason", "closed_by", "closed_at"])
