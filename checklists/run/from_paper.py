"""Back-entry: work done on paper in a downtime, entered afterwards by two people and marked as such for good.

It goes through no step, asks the gate nothing, and its state says so wherever it is named. What the paper
holds is kept in one entry: the amounts with who, the lots, the typed times, the sheet, and why.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TypeVar

from django.db import IntegrityError, transaction
from django.utils import timezone

from checklists.method.agreement import compare
from checklists.method.on_paper import ACT, KINDS, PARTS, amount_field, lot_field
from checklists.models import Material, Person, Preparation
from checklists.refusals import (
    AlreadyBeingMade,
    NobodySaid,
    NoSuchLot,
    NotAMoment,
    OrderNotActive,
    PaperDisagrees,
    PaperFaults,
    PaperReckonsOtherwise,
    SecondIsYou,
    SheetOfAnother,
)
from checklists.run.bench import Bench
from checklists.run.closing import close_if_ended
from checklists.run.pins import identify
from checklists.run.signing import ENTERS_PAPER
from checklists.run.typed import SHORT_REASON, reason_typed, volume_typed
from compounding.formulary import codes, scanning
from compounding.formulary.models import Lot, Order
from compounding.formulary.policy import current_policy
from compounding.formulary.worksheets import for_order
from compounding.reckoning.quantities import Quantity, number_in, write
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.worksheet import Container, Draw, Worksheet, to_plain

Found = TypeVar("Found")


@dataclass
class Reading:
    """What is read off the form, field by field; every fault is noted, none stops the others."""

    typed: Mapping[str, str]
    faults: dict[str, str] = field(default_factory=dict)

    def take(self, name: str, read: Callable[[str], Found]) -> Found | None:
        """Return what a field says; None where it is refused, with the sentence noted."""
        try:
            return read(self.typed.get(name, "").strip())
        except Refusal as refusal:
            self.faults.setdefault(name, refusal.sentence)
            return None


def enter_from_paper(
    *, order: Order, person: Person, key: str, typed: Mapping[str, str], second: Mapping[str, str]
) -> Preparation:
    """Enter it: every field right, and another person, a pharmacist, who signs beside. Once for its key."""
    other = identify(**second)
    if other.pk == person.pk or other.role != Person.Role.PHARMACIST:
        raise SecondIsYou(name=person.name)
    try:
        with transaction.atomic(durable=True):
            found = Order.objects.select_for_update(no_key=True).get(pk=order.pk)
            done = found.preparations.filter(entries__key=key).first()
            return done or _enter(found, person, key, typed, other)
    except IntegrityError:
        _refuse_if_made(order)
        raise


def _enter(order: Order, person: Person, key: str, typed: Mapping[str, str], other: Person) -> Preparation:
    if order.state != "active":
        raise OrderNotActive(number=order.number, state=order.get_state_display().lower())
    _refuse_if_made(order)
    now, paper = timezone.now(), Reading(typed)
    facts = _said(paper, order, now)
    began = paper.take("began", lambda text: _moment(text, order, now)) or now
    worksheet = for_order(order, started_at=began)
    lots = {c.key: _lot(paper, n, c) for n, c in enumerate(worksheet.containers, 1)}
    amounts = {str(draw.number): _amounts(paper, draw) for draw in worksheet.draws}
    if paper.faults:
        raise PaperFaults(by_field=paper.faults)
    maker = Person.objects.get(pk=int(typed["made_by"]))
    preparation = _preparation(order, worksheet, maker, now)
    known = {container: lot for container, lot in lots.items() if lot}
    Material.objects.bulk_create(
        Material(preparation=preparation, container=container, lot=lot, person=person, at=now)
        for container, lot in known.items()
    )
    Bench(preparation, person, now, key).write(
        ACT,
        order=order.number,
        worksheet=preparation.worksheet,
        **facts,
        containers={one: [lot.product.gtin, lot.number] for one, lot in known.items()},
        amounts=amounts,
        second=other.name,
        second_badge=other.badge,
        meaning=ENTERS_PAPER,
    )
    preparation.refresh_from_db()
    close_if_ended(preparation)
    return preparation


def _refuse_if_made(order: Order) -> None:
    made = order.preparations.exclude(state=Preparation.State.DISCARDED).first()
    if made:
        raise AlreadyBeingMade(code=codes.grouped(made.code), technician=made.technician.name)


def _preparation(order: Order, worksheet: Worksheet, maker: Person, now: datetime) -> Preparation:
    return Preparation.objects.create(
        code=codes.make("P", secrets.token_bytes(5)),
        order=order,
        worksheet=to_plain(worksheet),
        state=Preparation.State.ON_PAPER,
        technician=maker,
        opened_at=now,
        beyond_use_at=datetime.fromisoformat(worksheet.beyond_use_at),
        handed_over_at=now,
        ended_at=now,
    )


def _said(paper: Reading, order: Order, now: datetime) -> dict[str, object]:
    """Return the sheet, the reason, the typed times and the people, as the paper has them."""
    began = paper.take("began", lambda text: _moment(text, order, now))
    ended = paper.take("ended", lambda text: _moment(text, order, now, after=began))
    return {
        "sheet": paper.take("sheet", lambda text: _sheet(text, order)),
        "reason": paper.take("reason", lambda text: reason_typed(text, SHORT_REASON)),
        "began_typed": began.isoformat() if began else "",
        "ended_typed": ended.isoformat() if ended else "",
        **{part: paper.take(part, lambda text, part=part: _person(paper, part, text)) for part in PARTS},  # type: ignore[misc]
    }


def _sheet(text: str, order: Order) -> str:
    code = scanning.read_own_code(text, "R")
    if code != order.number:
        raise SheetOfAnother(scanned=codes.grouped(code), wanted=codes.grouped(order.number))
    return code


def _moment(text: str, order: Order, now: datetime, after: datetime | None = None) -> datetime:
    """Return a typed time; a minute of grace, as papers are dated by the minute."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise NotAMoment() from None
    moment = timezone.make_aware(moment) if timezone.is_naive(moment) else moment
    earliest = max(filter(None, (order.entered_at - timedelta(minutes=1), after)))
    if not earliest <= moment <= now:
        raise NotAMoment()
    return moment


def _person(paper: Reading, part: str, text: str) -> str:
    """Return who it was by name and badge; a checker is never the maker."""
    role = PARTS[part]
    number = int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0
    found = Person.objects.filter(pk=number, role=role).first()
    if found is None or (part != "made_by" and text == paper.typed.get("made_by", "").strip()):
        raise NobodySaid(who=f"a {role}")
    return f"{found.name} ({found.badge})"


def _lot(paper: Reading, number: int, container: Container) -> Lot | None:
    def read(text: str) -> Lot:
        found = Lot.objects.filter(product__gtin=container.product, number=text).first()
        if found is None:
            raise NoSuchLot(product=container.name)
        return found

    return paper.take(lot_field(number), read)


def _amounts(paper: Reading, draw: Draw) -> dict[str, str]:
    """Return the paper's three amounts of a draw; they must agree as any three."""
    found = {
        kind: paper.take(amount_field(kind, draw.number), lambda text: volume_typed(text, draw.syringe.size))
        for kind in KINDS
    }
    known: dict[str, Quantity] = {kind: one for kind, one in found.items() if one is not None}
    if len(known) == len(KINDS):
        paper.take(amount_field("required", draw.number), lambda _text: _compare(draw, known))
    return {kind: write(one) for kind, one in known.items()}


def _compare(draw: Draw, known: Mapping[str, Quantity]) -> None:
    off = abs(number_in(known["required"], "mL") - number_in(draw.target, "mL"))
    if off > number_in(draw.syringe.mark, "mL") / 2:
        raise PaperReckonsOtherwise(reckoned=write(draw.target), typed=write(known["required"]))
    limit = Decimal(current_policy().agreement_percent)
    if not compare(draw, drawn=known["drawn"], seen=known["seen"], limit_percent=limit).agrees:
        raise PaperDisagrees()
