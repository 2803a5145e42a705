"""Entering work that was done on paper: its form, and its lines in the record."""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from checklists.method.on_paper import ACT, KINDS, PARTS, amount_field, lot_field
from checklists.models import Person, Preparation
from checklists.worklists.order_view import OrderView, order_view
from checklists.worklists.orders import FormField
from compounding.formulary import codes
from compounding.formulary.models import Order
from compounding.formulary.worksheets import for_order
from compounding.reckoning.quantities import write


@dataclass(frozen=True)
class DrawFields:
    """The three amounts of one syringe, to be copied from the paper."""

    number: int
    of_what: str
    syringe: str
    amounts: tuple[FormField, ...]


@dataclass(frozen=True)
class LotField:
    """One container, and the field of its lot."""

    container: str
    name: str
    field: FormField


@dataclass(frozen=True)
class PaperForm:
    """The form: what stands on the paper, field by field, and who may have done what."""

    number: str
    shown_number: str
    title: str
    order: OrderView
    fields: Mapping[str, FormField]
    people: Mapping[str, tuple[tuple[int, str], ...]]
    lots: tuple[LotField, ...]
    draws: tuple[DrawFields, ...]
    badge: str
    key: str
    refusal: str


@dataclass(frozen=True)
class PaperLine:
    """The three amounts of one syringe as the paper had them."""

    draw: str
    required: str
    drawn: str
    seen: str


@dataclass(frozen=True)
class OnPaper:
    """What the record tells of work done on paper."""

    sheet: str
    reason: str
    began: datetime
    ended: datetime
    made_by: str
    seen_by: str
    released_by: str
    entered_by: str
    second: str
    at: datetime
    rows: tuple[PaperLine, ...]


SAID = ("sheet", "reason", "began", "ended", *PARTS)


def form(
    order: Order, *, typed: Mapping[str, str], faults: Mapping[str, str], refusal: str = ""
) -> PaperForm:
    """Return the form of an order, with what was typed a moment ago still on it."""
    worksheet = for_order(order, started_at=timezone.now())

    def one(name: str) -> FormField:
        return FormField(name, typed.get(name, ""), faults.get(name, ""))

    return PaperForm(
        number=order.number,
        shown_number=codes.grouped(order.number),
        title=order.formulation.title,
        order=order_view(order),
        fields={name: one(name) for name in SAID},
        people={part: _people(role) for part, role in PARTS.items()},
        lots=tuple(
            LotField(container.key, container.name, one(lot_field(number)))
            for number, container in enumerate(worksheet.containers, 1)
        ),
        draws=tuple(
            DrawFields(
                draw.number,
                worksheet.transfer_of(draw.number).of_what,
                write(draw.syringe.size),
                tuple(one(amount_field(kind, draw.number)) for kind in KINDS),
            )
            for draw in worksheet.draws
        ),
        badge=typed.get("badge", ""),
        key=secrets.token_hex(16),
        refusal=refusal,
    )


def _people(role: str) -> tuple[tuple[int, str], ...]:
    return tuple(Person.objects.filter(role=role).order_by("name").values_list("pk", "name"))


def on_paper(preparation: Preparation) -> OnPaper | None:
    """Return what was entered from paper; None of work done here."""
    entry = preparation.entries.filter(act=ACT).select_related("person").first()
    if entry is None:
        return None
    facts = json.loads(entry.text)["facts"]
    return OnPaper(
        sheet=codes.grouped(facts["sheet"]),
        reason=facts["reason"],
        began=datetime.fromisoformat(facts["began_typed"]),
        ended=datetime.fromisoformat(facts["ended_typed"]),
        made_by=facts["made_by"],
        seen_by=facts["seen_by"],
        released_by=facts["released_by"],
        entered_by=entry.person.name,
        second=facts["second"],
        at=entry.at,
        rows=tuple(PaperLine(draw, **amounts) for draw, amounts in facts["amounts"].items()),
    )
