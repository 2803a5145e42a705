"""The run plan: a shift's orders so that the least is opened and wasted, and what that saves.

No volume of one order is told: whoever reads this may still have to read its syringe blind.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.models import OpenedContainer, Preparation, RunPlan
from checklists.worklists.identity import for_whom
from checklists.worklists.run_plan_sums import Compared, compared
from checklists.worklists.run_plan_turn import standing, turn
from compounding.formulary import codes, orders, shift
from compounding.formulary.models import Order
from compounding.formulary.policy import current_policy
from compounding.formulary.shift import Group
from compounding.reckoning.provisioning import OpenContainer, Provision, provision
from compounding.reckoning.vial_account import as_planned, each_its_own

BEGUN = (
    Preparation.State.IN_WORK,
    Preparation.State.PAUSED,
    Preparation.State.HANDED_OVER,
    Preparation.State.RELEASED,
    Preparation.State.ON_PAPER,
)
AT_WORK = BEGUN[:2]


@dataclass(frozen=True)
class PlannedOrder:
    """One order as the plan names it; `note` says which containers it shares."""

    number: str
    shown_number: str
    what: str
    for_whom: str
    due_at: datetime
    note: str = ""


@dataclass(frozen=True)
class PlannedVessel:
    """One container, whom it serves in turn, and until when it may be used once it is opened."""

    name: str
    lot: str
    is_open: bool
    use_ends_at: datetime
    orders: tuple[PlannedOrder, ...]

    @property
    def is_shared(self) -> bool:
        """Say whether following the plan differs here from opening a container of one's own."""
        return self.is_open or len({one.number for one in self.orders}) > 1


@dataclass(frozen=True)
class PlannedProduct:
    """One product: its containers, and how many each order with its own would open."""

    name: str
    maker: str
    vessels: tuple[PlannedVessel, ...]
    compared: Compared

    @property
    def is_shared(self) -> bool:
        """Say whether any of its containers serves more than one order, or stood open."""
        return any(vessel.is_shared for vessel in self.vessels)


@dataclass(frozen=True)
class PlanScreen:
    """The whole plan. `put_up` is the plan that stands on the technicians' list now."""

    at: datetime
    turn: tuple[PlannedOrder, ...]
    shared: tuple[PlannedProduct, ...]
    alone: tuple[PlannedProduct, ...]
    sums: Compared
    left_out: tuple[tuple[PlannedOrder, str], ...]
    is_proved: bool
    put_up: RunPlan | None
    key: str
    refusal: str


@dataclass(frozen=True)
class _Worked:
    group: Group
    plan: Provision
    open_now: tuple[OpenContainer, ...]

    @property
    def compared(self) -> Compared:
        """Return each order with its own beside the plan."""
        size = self.group.size
        naive, planned = each_its_own(self.group.needs, size), as_planned(self.plan, size, self.open_now)
        return compared(self.group, naive, planned)


def plan_screen(refusal: str = "") -> PlanScreen:
    """Return the plan for every order that nobody has begun, as things stand now."""
    now = timezone.now()
    waiting = list(orders.to_make().exclude(preparations__state__in=BEGUN))
    facts = shift.shift_of(waiting, now, current_policy())
    known = {order.number: _planned(order) for order in waiting}
    works = [_worked(group) for group in facts.groups]
    products = [_product(work, known) for work in works]
    shared = tuple(one for one in products if one.is_shared)
    out = {one.order.number for one in facts.left_out}
    return PlanScreen(
        at=now,
        turn=turn([one for number, one in known.items() if number not in out], shared),
        shared=shared,
        alone=tuple(one for one in products if not one.is_shared),
        sums=Compared.total(one.compared for one in products),
        left_out=tuple((known[one.order.number], one.why) for one in facts.left_out),
        is_proved=all(work.plan.is_proved for work in works),
        put_up=standing(),
        key=secrets.token_hex(16),
        refusal=refusal,
    )


def suggested() -> list[tuple[str, str]]:
    """Return the orders in the turn of the plan, each with its note."""
    return [(one.number, one.note) for one in plan_screen().turn]


def _planned(order: Order) -> PlannedOrder:
    doses = (f"{one.ingredient.substance.written} {one.written}" for one in order.doses.all())
    count = f" × {order.units}" if order.units > 1 else ""
    what = ", ".join(doses) + count
    return PlannedOrder(order.number, codes.grouped(order.number), what, for_whom(order), order.due_at)


def _worked(group: Group) -> _Worked:
    """Return the plan of one product, with what stands open of it and is at nobody's work."""
    found = OpenedContainer.objects.filter(lot__product=group.product, lot__state="available")
    at_work = found.filter(opened_for__state__in=AT_WORK) | found.filter(
        taken_again__preparation__state__in=AT_WORK
    )
    free = found.filter(discarded_at=None, left_ml__gt=0).exclude(pk__in=at_work.values("pk"))
    open_now = tuple(
        OpenContainer(codes.grouped(one.code), group.size.code, group.content(one.left_ml), one.use_ends_at)
        for one in free
    )
    return _Worked(group, provision(group.needs, [group.size], group.lots, open_now, is_whole=True), open_now)


def _product(work: _Worked, known: Mapping[str, PlannedOrder]) -> PlannedProduct:
    product = work.group.product
    return PlannedProduct(product.name, product.maker, tuple(_vessels(work, known)), work.compared)


def _vessels(work: _Worked, known: Mapping[str, PlannedOrder]) -> Iterator[PlannedVessel]:
    """Yield the containers in the order in which they are first drawn from."""
    opened = {one.name: one for one in work.plan.openings}
    stood = {one.name: one for one in work.open_now}
    for name in dict.fromkeys(taking.container for taking in work.plan.takings):
        numbers = dict.fromkeys(one.need for one in work.plan.takings if one.container == name)
        served = tuple(known[number] for number in numbers)
        if name in stood:
            yield PlannedVessel(name, "", True, stood[name].ends_at, served)
        else:
            number = list(opened).index(name) + 1
            lot = next(one for one in work.group.lots if one.lot == opened[name].lot)
            first = next(need.at for need in work.group.needs if need.name == opened[name].need)
            ends = min(first + work.group.size.in_use, lot.ends_at)
            yield PlannedVessel(_("new %(number)d") % {"number": number}, lot.lot, False, ends, served)
