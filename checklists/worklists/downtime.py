"""The downtime pack: what is due, on paper, before network or power fail.

For each order three sheets. The maker's holds the worksheet and room for what was drawn; the checker's holds
the order and empty lines, never an amount that was reckoned; the label's times and code are written by hand.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.formats import date_format

from checklists.worklists.order_view import OrderView, order_view
from compounding.formulary import codes
from compounding.formulary.models import Order
from compounding.formulary.paper_worksheets import written
from compounding.formulary.worksheets import for_order
from compounding.reckoning.labelling import LabelFacts, label_lines
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.worksheet import Worksheet

BY_HAND = "________"


@dataclass(frozen=True)
class ToDraw:
    """One syringe as the checker's sheet names it: what of, and the syringe; no amount."""

    number: int
    of_what: str
    syringe: str


@dataclass(frozen=True)
class OrderOnPaper:
    """The three sheets of one order; `why_not` instead where it cannot be reckoned."""

    number: str
    title: str
    order: OrderView
    worksheet: str
    containers: tuple[str, ...]
    draws: tuple[ToDraw, ...]
    label: tuple[str, ...]
    units: int
    good_for: str
    why_not: str


@dataclass(frozen=True)
class DowntimePack:
    """Everything that is due until then."""

    printed_at: datetime
    until: datetime
    orders: tuple[OrderOnPaper, ...]


def downtime_pack(at: datetime, hours: int) -> DowntimePack:
    """Return the sheets of every order that is due within so many hours, or late, and not being made."""
    until = at + timedelta(hours=hours)
    due = Order.objects.filter(state="active", due_at__lte=until).exclude(
        preparations__state__in=("in-work", "paused", "handed-over", "released", "on-paper")
    )
    found = due.select_related("formulation").order_by("due_at", "number")
    return DowntimePack(at, until, tuple(_on_paper(order, at, until) for order in found))


def _on_paper(order: Order, at: datetime, until: datetime) -> OrderOnPaper:
    empty = OrderOnPaper(
        codes.grouped(order.number),
        order.formulation.title,
        order_view(order),
        "",
        (),
        (),
        (),
        order.units,
        "",
        "",
    )
    try:
        worksheet = for_order(order, started_at=at)
        label = _label(order, worksheet)
    except Refusal as refusal:
        return replace(empty, why_not=refusal.sentence)
    names = (f"{one.key}: {one.name}" for one in worksheet.containers)
    return replace(
        empty,
        worksheet=_timeless(written(worksheet, timezone.get_default_timezone())),
        containers=tuple(names),
        draws=tuple(_to_draw(worksheet, draw.number) for draw in worksheet.draws),
        label=label,
        good_for=_good_for(order, worksheet, until),
    )


def _timeless(text: str) -> str:
    """Leave out what counts from the printing: on paper the work begins later."""
    parts = [part for part in text.split("\n\n") if not part.startswith("Beyond-use date")]
    lines = [line for line in parts[0].splitlines() if not line.startswith("Preparation starts")]
    return "\n\n".join(["\n".join(lines), *parts[1:]])


def _to_draw(worksheet: Worksheet, number: int) -> ToDraw:
    draw = worksheet.draw(number)
    size = f"{draw.syringe.size.magnitude.normalize():f} mL"
    return ToDraw(number, worksheet.transfer_of(number).of_what, size)


def _label(order: Order, worksheet: Worksheet) -> tuple[str, ...]:
    """Return the lines of a label that the program can know before the work begins."""
    born = date_format(order.born_on) if order.born_on else ""
    facts = LabelFacts(
        patient=order.patient_name,
        identifiers=(("No.", order.patient_identifier), ("Born", born)) if order.patient_name else (),
        route=order.route,
        rate=order.formulation.rate,
        code=BY_HAND,
        serial=1,
        of=worksheet.units,
        zone=timezone.get_default_timezone(),
    )
    lines = label_lines(worksheet, facts).lines
    return tuple(line.text for line in lines if line.place not in NOT_KNOWN)


#: What is only known once the work has begun: written by hand.
NOT_KNOWN = ("beyond use", "start before", "prepared", "code", "serial")


def _good_for(order: Order, worksheet: Worksheet, until: datetime) -> str:
    """Return how long after its start it is good for, and a fixed end that may bind by `until`."""
    lasts = _lasts(worksheet)
    minutes = -(-int(lasts.total_seconds()) // 60)  # the worksheet cuts its end to the minute
    hours, rest = divmod(minutes, 60)
    span = f"{hours} hours {rest} minutes after the start" if rest else f"{hours} hours after the start"
    end = _fixed_end(order, worksheet)
    if end is None or end >= until + lasts:
        return span
    shown = date_format(end.astimezone(timezone.get_default_timezone()), "j M Y H:i")
    return f"{span}, and never after {shown}"


def _fixed_end(order: Order, worksheet: Worksheet) -> datetime | None:
    """Return the earliest limit that stays when the work begins later, such as a lot's last day."""
    started = datetime.fromisoformat(worksheet.started_at)
    later = _or_none(order, started + timedelta(minutes=1))
    if later is None:
        return datetime.fromisoformat(worksheet.beyond_use_at)
    pairs = zip(worksheet.limits, later.limits, strict=True)
    return min((datetime.fromisoformat(a.ends_at) for a, b in pairs if a.ends_at == b.ends_at), default=None)


def _lasts(worksheet: Worksheet) -> timedelta:
    return datetime.fromisoformat(worksheet.beyond_use_at) - datetime.fromisoformat(worksheet.started_at)


def _or_none(order: Order, at: datetime) -> Worksheet | None:
    try:
        return for_order(order, started_at=at)
    except Refusal:
        return None
