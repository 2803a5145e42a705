"""The turn that a run plan suggests, and the technicians' list in that turn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Protocol, TypeVar

from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.models import RunPlan

if TYPE_CHECKING:
    from checklists.worklists.run_plan import PlannedOrder, PlannedProduct, PlannedVessel

#: How far an order is brought forward to a companion (our own, no source).
TOGETHER = timedelta(hours=1)
#: A plan of yesterday is no plan of today's orders.
STANDS_FOR = timedelta(hours=12)


class Row(Protocol):
    """What is put in turn."""

    @property
    def number(self) -> str:
        """Return the order's number."""

    @property
    def due_at(self) -> datetime:
        """Return when it is due."""


Rowed = TypeVar("Rowed", bound=Row)


def turn(known: Sequence[PlannedOrder], shared: Iterable[PlannedProduct]) -> tuple[PlannedOrder, ...]:
    """Return the orders by due time, but what shares a container and is due within an hour comes together.

    What is due later stands in its own time, so that no order waits for a less urgent one's sake.
    """
    products = list(shared)
    company = {one.number: {one.number} for one in known}
    for vessel in (vessel for product in products for vessel in product.vessels):
        together = set().union(*(company[one.number] for one in vessel.orders))
        company |= dict.fromkeys(together, together)
    due = {one.number: (one.due_at, one.number) for one in known}

    def place(one: PlannedOrder) -> tuple[tuple[datetime, str], tuple[datetime, str]]:
        near = (due[other] for other in company[one.number] if one.due_at - due[other][0] <= TOGETHER)
        return min(near), due[one.number]

    return tuple(replace(one, note="; ".join(_notes(one, products))) for one in sorted(known, key=place))


def _notes(order: PlannedOrder, products: Iterable[PlannedProduct]) -> Iterator[str]:
    for product in products:
        for vessel in product.vessels:
            if vessel.is_shared and order.number in {one.number for one in vessel.orders}:
                yield _note(order, product.name, vessel)


def _note(order: PlannedOrder, product: str, vessel: PlannedVessel) -> str:
    facts = {"product": product, "name": vessel.name, "first": vessel.orders[0].shown_number}
    if vessel.is_open:
        return _("%(product)s: take the open one, %(name)s") % facts
    if order.number == vessel.orders[0].number:
        return _("%(product)s: open one, and keep it for the next") % facts
    return _("%(product)s: take the one opened for %(first)s") % facts


def standing() -> RunPlan | None:
    """Return the plan that the technicians' list follows now."""
    plan = RunPlan.objects.select_related("put_up_by").filter(ended_at=None).last()
    return plan if plan and timezone.now() < plan.put_up_at + STANDS_FOR else None


def in_turn(rows: Sequence[Rowed], plan: RunPlan) -> list[Rowed]:
    """Return rows in the turn of a plan; one it does not know comes before the first that is due later."""
    places = {row["number"]: place for place, row in enumerate(plan.rows)}
    planned = sorted((row for row in rows if row.number in places), key=lambda row: places[row.number])
    others = sorted((row for row in rows if row.number not in places), key=lambda row: row.due_at)
    merged: list[Rowed] = []
    for row in planned:
        while others and others[0].due_at <= row.due_at:
            merged.append(others.pop(0))
        merged.append(row)
    return merged + others


def notes_of(plan: RunPlan) -> dict[str, str]:
    """Return what a plan says of each order."""
    return {row["number"]: row["note"] for row in plan.rows}
