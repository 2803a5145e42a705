"""The stock page: every lot by product; one lot, what happened to it, and every preparation that holds it."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from django.db.models import Count, Q
from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.models import Material, Person, Preparation
from compounding.formulary import codes, lots
from compounding.formulary.models import Lot
from compounding.formulary.models.products import LotState

State = Preparation.State

#: In which order a reader of a recall wants them: what can still be stopped first.
STATES = (
    State.IN_WORK, State.PAUSED, State.HANDED_OVER, State.RELEASED, State.ON_PAPER, State.DISCARDED,
)  # fmt: skip
MAY_FREE, MAY_RECALL = (Person.Role.PHARMACIST,), (Person.Role.PHARMACIST, Person.Role.SUPERVISOR)


@dataclass(frozen=True)
class LotRow:
    """One lot on the list; `open_work` counts the preparations under way that hold it."""

    pk: int
    number: str
    expires_on: date
    received_on: date
    state: str
    state_shown: str
    is_in_date: bool
    open_work: int


@dataclass(frozen=True)
class ProductLots:
    """A product and its lots, the first to expire first."""

    name: str
    maker: str
    gtin: str
    lots: tuple[LotRow, ...]


@dataclass(frozen=True)
class StockScreen:
    """Every lot in stock, and the fields to receive more."""

    products: tuple[ProductLots, ...]
    key: str
    refusal: str
    typed: str


@dataclass(frozen=True)
class HeldRow:
    """A preparation that holds the lot: which containers of it, for whom, where it went."""

    code: str
    url_code: str
    title: str
    for_whom: str
    ward: str
    technician: str
    opened_at: datetime
    ended_at: datetime | None
    containers: tuple[str, ...]


@dataclass(frozen=True)
class HeldGroup:
    """The preparations in one state that hold the lot."""

    state: str
    rows: tuple[HeldRow, ...]


@dataclass(frozen=True)
class ChangeLine:
    """What happened to the lot."""

    state: str
    reason: str
    by: str
    at: datetime


@dataclass(frozen=True)
class LotScreen:
    """One lot. `ways` are the states it may be brought into by this person, with the words of the press."""

    row: LotRow
    product: str
    maker: str
    gtin: str
    changes: tuple[ChangeLine, ...]
    groups: tuple[HeldGroup, ...]
    count: int
    ways: tuple[tuple[str, str], ...]
    now: datetime
    key: str
    refusal: str
    reason: str


def stock_screen(refusal: str = "", typed: str = "") -> StockScreen:
    """Return every lot by product."""
    under_way = Count(
        "used_in__preparation", filter=~Q(used_in__preparation__state__in=STATES[3:]), distinct=True
    )
    found = Lot.objects.select_related("product").annotate(open_work=under_way)
    at = timezone.now()
    in_order = found.order_by("product__name", "product_id", "expires_on")
    products = tuple(
        _product([(lot, getattr(lot, "open_work", 0)) for lot in of_it], at)
        for _number, of_it in groupby(in_order, lambda lot: lot.product_id)
    )
    return StockScreen(products, secrets.token_hex(16), refusal, typed)


def _product(found: list[tuple[Lot, int]], at: datetime) -> ProductLots:
    product = found[0][0].product
    return ProductLots(
        product.name, product.maker, product.gtin, tuple(_row(lot, at, count) for lot, count in found)
    )


def find(number: int) -> Lot | None:
    """Return the lot of that number, with its product."""
    return Lot.objects.select_related("product").filter(pk=number).first()


def lot_screen(lot: Lot, person: Person, *, refusal: str = "", reason: str = "") -> LotScreen:
    """Return one lot with everything that holds it."""
    groups = trace(lot)
    changes = lot.changes.all()
    return LotScreen(
        row=_row(lot, timezone.now(), 0),
        product=lot.product.name,
        maker=lot.product.maker,
        gtin=lot.product.gtin,
        changes=tuple(ChangeLine(one.get_state_display(), one.reason, one.by, one.at) for one in changes),
        groups=groups,
        count=sum(len(group.rows) for group in groups),
        ways=_ways(lot, person),
        now=timezone.now(),
        key=secrets.token_hex(16),
        refusal=refusal,
        reason=reason,
    )


def trace(lot: Lot) -> tuple[HeldGroup, ...]:
    """Return every preparation that holds the lot, by state, newest first: one query, no worksheet read."""
    used = Material.objects.filter(lot=lot).select_related(
        "preparation__order__formulation", "preparation__technician"
    )
    used = used.defer("preparation__worksheet").order_by("-preparation__opened_at", "preparation_id", "pk")
    by_state: dict[str, list[HeldRow]] = {state: [] for state in STATES}
    for preparation, of_it in groupby(used, lambda one: one.preparation):
        containers = tuple(one.container for one in of_it)
        by_state[preparation.state].append(_held(preparation, containers))
    return tuple(HeldGroup(State(state).label, tuple(rows)) for state, rows in by_state.items() if rows)


def _held(preparation: Preparation, containers: tuple[str, ...]) -> HeldRow:
    order = preparation.order
    whom = " · ".join(part for part in (order.patient_name, order.patient_identifier) if part)
    return HeldRow(
        code=codes.grouped(preparation.code),
        url_code=preparation.code,
        title=order.formulation.title,
        for_whom=whom or _("for stock, %(count)d units") % {"count": order.units},
        ward=order.ward,
        technician=preparation.technician.name,
        opened_at=preparation.opened_at,
        ended_at=preparation.ended_at,
        containers=containers,
    )


def _row(lot: Lot, at: datetime, open_work: int) -> LotRow:
    return LotRow(
        pk=lot.pk,
        number=lot.number,
        expires_on=lot.expires_on,
        received_on=lot.received_on,
        state=lot.state,
        state_shown=lot.get_state_display().lower(),
        is_in_date=lot.is_in_date(at),
        open_work=open_work,
    )


def _ways(lot: Lot, person: Person) -> tuple[tuple[str, str], ...]:
    words = {
        LotState.QUARANTINED: _("Hold it back"),
        LotState.AVAILABLE: _("Free it for use"),
        LotState.RECALLED: _("Recall it"),
    }
    may = {LotState.AVAILABLE: MAY_FREE, LotState.RECALLED: MAY_RECALL}
    return tuple(
        (state.value, words[state])
        for state in lots.NEXT[lot.state]
        if person.role in may.get(state, Person.Role.values)
    )
