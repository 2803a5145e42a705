"""What is to be made, most urgent first, and one order in full."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone

from checklists.controlled import awaiting, unaccounted
from checklists.method.step_kinds import row_of
from checklists.models import Person, Preparation, RunPlan
from checklists.worklists.identity import for_whom, identity
from checklists.worklists.order_view import OrderView, order_view
from checklists.worklists.run_plan_turn import in_turn, notes_of, standing
from checklists.worklists.screens import Identity
from checklists.worklists.words import STAGES
from compounding.formulary import choices, codes, intake, orders
from compounding.formulary.models import Formulation, Order
from compounding.reckoning.worksheet import from_plain


@dataclass(frozen=True)
class ToMakeRow:
    """One order on the list. `made_by` is set when somebody has opened it."""

    number: str
    shown_number: str
    title: str
    doses: str
    for_whom: str
    due_at: datetime
    is_late: bool
    is_hazardous: bool
    units: int
    made_by: str
    stage: str
    state: str
    note: str = ""


@dataclass(frozen=True)
class MyWork:
    """The technician's own open or paused preparation."""

    identity: Identity
    state: str
    stage: str
    hood: str
    technician: str
    is_mine: bool
    has_waste: bool
    since: datetime | None


@dataclass(frozen=True)
class ToMakeScreen:
    """One screenful of the list: own work first, then what was put aside, then what is to be made."""

    mine: MyWork | None
    aside: tuple[MyWork, ...]
    rows: tuple[ToMakeRow, ...]
    page: int
    later: int
    plan: RunPlan | None
    key: str
    refusal: str


#: How many entries a tablet shows without scrolling; own work takes the place of two, a refusal of one.
ENTRIES = 4


def to_make(person: Person, page: int = 1, refusal: str = "") -> ToMakeScreen:
    """Return one screenful of the list for this technician."""
    mine = _select().filter(technician=person, state=Preparation.State.IN_WORK).first()
    plan = standing()
    entries = [*(_work(one, person) for one in _put_aside()), *_in_turn(_rows(), plan)]
    size = ENTRIES - (2 if mine else 0) - (1 if refusal else 0)
    shown = entries[(page - 1) * size : page * size]
    return ToMakeScreen(
        mine=_work(mine, person) if mine else None,
        aside=tuple(one for one in shown if isinstance(one, MyWork)),
        rows=tuple(one for one in shown if isinstance(one, ToMakeRow)),
        page=page,
        later=max(0, len(entries) - page * size),
        plan=plan,
        key=secrets.token_hex(16),
        refusal=refusal,
    )


def _in_turn(rows: list[ToMakeRow], plan: RunPlan | None) -> list[ToMakeRow]:
    """Return the rows by urgency, or in the turn of the plan that was put up, with what it says of each."""
    if plan is None:
        return rows
    notes = notes_of(plan)
    return [replace(row, note=notes.get(row.number, "")) for row in in_turn(rows, plan)]


def _put_aside() -> list[Preparation]:
    """Return discarded work that still lies in a hood or left controlled waste, then paused work, the most
    urgent first.
    """
    state = Preparation.State
    discarded = _select().filter(state=state.DISCARDED)
    left = discarded.exclude(hood=None)
    paused = _select().filter(state=state.PAUSED).order_by("order__due_at")
    return [*left, *awaiting(discarded.filter(hood=None)), *paused]


def _select() -> QuerySet[Preparation]:
    return Preparation.objects.select_related("order__formulation", "technician", "hood")


def _work(preparation: Preparation, person: Person) -> MyWork:
    return MyWork(
        identity=identity(preparation, from_plain(preparation.worksheet)),
        state=preparation.state,
        stage=_stage(preparation),
        hood=preparation.hood.name if preparation.hood else "",
        technician=preparation.technician.name,
        is_mine=preparation.technician_id == person.pk,
        has_waste=preparation.state == Preparation.State.DISCARDED and any(unaccounted(preparation)),
        since=_aside_since(preparation),
    )


def _aside_since(preparation: Preparation) -> datetime | None:
    """Return since when paused work has lain."""
    if preparation.state != Preparation.State.PAUSED:
        return None
    return preparation.entries.filter(act="pause").order_by("-number").values_list("at", flat=True).first()


def _stage(preparation: Preparation) -> str:
    step = preparation.steps.filter(finished_at=None).first()
    return str(STAGES[row_of(step).stage]) if step else ""


def _rows() -> list[ToMakeRow]:
    """Return every order that is still to be made or being made, the most urgent first."""
    now, state = timezone.now(), Preparation.State
    beyond = [state.HANDED_OVER, state.RELEASED, state.ON_PAPER]
    to_do = orders.to_make_lately(now).exclude(preparations__state__in=beyond)
    under_way = Preparation.objects.filter(state__in=[state.IN_WORK, state.PAUSED]).select_related(
        "technician"
    )
    work = {one.order_id: one for one in under_way}
    return [_row(order, work.get(order.pk), now) for order in to_do]


def _row(order: Order, work: Preparation | None, now: datetime) -> ToMakeRow:
    doses = list(order.doses.all())
    return ToMakeRow(
        number=order.number,
        shown_number=codes.grouped(order.number),
        title=order.formulation.title,
        doses=", ".join(f"{one.ingredient.substance.written} {one.written}" for one in doses),
        for_whom=for_whom(order),
        due_at=order.due_at,
        is_late=now > order.due_at,
        is_hazardous=any(one.ingredient.substance.is_hazardous for one in doses),
        units=order.units,
        made_by=work.technician.name if work else "",
        stage=_stage(work) if work else "",
        state=work.state if work else "",
    )


@dataclass(frozen=True)
class OrderScreen:
    """One order in full, with what became of it."""

    number: str
    order: OrderView
    title: str
    state: str
    reason: str
    warnings: tuple[str, ...]
    is_active: bool
    superseded_by: str
    preparations: tuple[tuple[Identity, str], ...]
    products: tuple[tuple[str, str], ...]
    choices: tuple[str, ...]
    key: str
    refusal: str


def order_screen(order: Order, refusal: str = "") -> OrderScreen:
    """Return one order in full."""
    new = Order.objects.filter(supersedes=order).first()
    made = order.preparations.select_related("order__formulation")
    return OrderScreen(
        number=order.number,
        order=order_view(order),
        title=order.formulation.title,
        state=order.get_state_display(),
        reason=order.reason,
        warnings=intake.order_warnings(order, timezone.localdate()),
        is_active=order.state == "active",
        superseded_by=new.number if new else "",
        preparations=tuple((identity(a, from_plain(a.worksheet)), a.get_state_display()) for a in made),
        products=tuple((one.gtin, str(one)) for one in choices.equivalents(order, timezone.now())),
        choices=tuple(f"{one.product}: {one.reason} ({one.by})" for one in order.choices.all()),
        key=secrets.token_hex(16),
        refusal=refusal,
    )


@dataclass(frozen=True)
class FormField:
    """One field of the order form: what was typed stays, its fault beside it."""

    name: str
    typed: str
    fault: str


@dataclass(frozen=True)
class DoseField:
    """The dose of one ingredient."""

    name: str
    label: str
    unit: str
    hint: str
    typed: str
    fault: str


@dataclass(frozen=True)
class OrderForm:
    """The order form, empty, filled from an order to be changed, or as it was typed with its faults."""

    formulation: Formulation | None
    choices: tuple[Formulation, ...]
    fields: Mapping[str, FormField]
    doses: tuple[DoseField, ...]
    changes: str
    key: str
    has_faults: bool


def find(number: str) -> Order | None:
    """Return the order of that number."""
    return Order.objects.select_related("formulation").filter(number=number).first()


def as_typed(order: Order) -> dict[str, str]:
    """Return an order's fields as they would be typed, doses among them."""
    fields = dict(intake.as_typed(order))
    doses = fields.pop("doses")
    return {**fields, **doses}  # type: ignore[dict-item]


def active_rows() -> tuple[ToMakeRow, ...]:
    """Return every active order, most urgent first."""
    return tuple(_rows())


def order_form(
    typed: Mapping[str, str], faults: Mapping[str, str] | None = None, changes: str = ""
) -> OrderForm:
    """Return the form for what was typed so far."""
    faults = faults or {}
    today = timezone.localdate()
    formulation = orders.formulation_in_force(typed.get("formulation", ""), today)
    return OrderForm(
        formulation=formulation,
        choices=tuple(orders.orderable(today)),
        fields={name: FormField(name, typed.get(name, ""), faults.get(name, "")) for name in FIELDS},
        doses=tuple(_doses(formulation, typed, faults)) if formulation else (),
        changes=changes,
        key=secrets.token_hex(16),
        has_faults=bool(faults),
    )


FIELDS = (
    "formulation", "patient_name", "patient_identifier", "born_on", "allergies", "route", "body_weight",
    "weighed_on", "height", "prescriber", "ward", "units", "due_at", "reason",
)  # fmt: skip


def _doses(formulation: Formulation, typed: Mapping[str, str], faults: Mapping[str, str]) -> list[DoseField]:
    return [
        DoseField(
            name=one.field,
            label=one.substance.written,
            unit=one.dose_unit,
            hint=one.usual_dose,
            typed=typed.get(one.field, ""),
            fault=faults.get(one.field, ""),
        )
        for one in formulation.ingredients.select_related("substance")
    ]
