"""The checker's phone: what waits, and each check with what may be known at it."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db.models import Max, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from checklists.counting import unread_items
from checklists.independence import is_maker, was_shown, why_not_blind
from checklists.method.step_kinds import KINDS, Actor, Takes
from checklists.models import Entry, Hold, Person, Preparation, Step
from checklists.refusals import NoSuchHold, NotIndependent, OutOfOrder, ReckonedAmountsShown
from checklists.remains import Remains
from checklists.worklists import bench, photographs
from checklists.worklists.checker_screens import (
    Ask,
    CautionAsk,
    CheckFrame,
    FirstCheckScreen,
    ProductFact,
    SeenContainer,
    SightScreen,
    WaitingList,
    WaitingRow,
)
from checklists.worklists.identity import identity
from checklists.worklists.order_view import order_view
from checklists.worklists.units import reading_view
from checklists.worklists.words import step_name
from compounding.formulary.models import Product
from compounding.reckoning.quantities import write
from compounding.reckoning.worksheet import Caution, Draw, Purpose, Transfer, Worksheet, from_plain

OPEN = (Preparation.State.IN_WORK, Preparation.State.PAUSED, Preparation.State.HANDED_OVER)


def waiting_etag(person: Person) -> str:
    """Return what changes whenever anything is entered: one number, one query."""
    return f'"{Entry.objects.aggregate(last=Max("pk"))["last"] or 0}-{person.pk}"'


def waiting_list(person: Person) -> WaitingList:
    """Return everything that waits for a pharmacist, oldest first."""
    preparations = Preparation.objects.filter(state__in=OPEN).select_related(
        "order__formulation", "technician"
    )
    rows = [row for one in preparations.filter(_waits()).distinct() for row in _rows(one, person)]
    return WaitingList(
        rows=tuple(sorted(rows, key=lambda row: row.since)),
        poll_url=reverse("waiting_rows"),
        etag=waiting_etag(person),
    )


def _waits() -> Q:
    checks = [kind.name for kind in KINDS.values() if kind.actor is Actor.CHECKER]
    at_check = Q(steps__kind__in=checks, steps__started_at__isnull=False, steps__finished_at=None)
    return at_check | Q(holds__isnull=False, holds__resolved_at=None)


def _rows(preparation: Preparation, person: Person) -> Iterable[WaitingRow]:
    holds = list(preparation.holds.filter(resolved_at=None))
    for hold in holds:
        url = reverse("hold", args=[preparation.code, hold.pk])
        yield _row(
            preparation,
            _("Hold: %(cause)s") % {"cause": hold.get_cause_display()},
            hold.opened_at,
            url,
            _why_not(preparation, person),
            None,
        )
    step = bench.current_step(preparation)
    if not holds and step and step.started_at and KINDS[step.kind].actor is Actor.CHECKER:
        url = reverse("check", args=[preparation.code, step.place])
        why_not = _why_not(preparation, person) or _why_not_blind(step, person)
        yield _row(preparation, step_name(step), step.started_at, url, why_not, step)


def _row(
    preparation: Preparation, what: str, since: datetime, url: str, why_not: str, step: Step | None
) -> WaitingRow:
    return WaitingRow(
        identity=identity(preparation, from_plain(preparation.worksheet)),
        what=what,
        since=since,
        due_at=preparation.order.due_at,
        taken_by=step.taken_by.name if step and step.taken_by else "",
        is_hold=step is None,
        url=url,
        why_not=why_not,
    )


def _why_not(preparation: Preparation, person: Person) -> str:
    return NotIndependent(name=person.name).sentence if is_maker(preparation, person) else ""


def _why_not_blind(step: Step, person: Person) -> str:
    """Say that somebody else reads what this person has read or been shown."""
    draws = step.about.get("draws", ()) if step.kind == "show" else ()
    reasons = (why_not_blind(step.preparation, number, person) for number in draws)
    return next((reason.sentence for reason in reasons if reason), "")


def find_step(preparation: Preparation, place: int) -> Step:
    """Return the checker's step at `place` if the work has come to it."""
    step = bench.current_step(preparation)
    if step is None or step.place != place or KINDS[step.kind].actor is not Actor.CHECKER:
        raise OutOfOrder()
    return step


def step_for(preparation: Preparation, place: int, person: Person) -> Step:
    """Return the check at `place` for a pharmacist who may take it: no maker, blind if it is a reading."""
    if is_maker(preparation, person):
        raise NotIndependent(name=person.name)
    step = find_step(preparation, place)
    if KINDS[step.kind].takes is Takes.RECALCULATION and was_shown(preparation, person):
        raise ReckonedAmountsShown(name=person.name)
    left = unread_items(step, from_plain(preparation.worksheet)) if "draws" in step.about else ()
    for reason in (why_not_blind(preparation, item.draw, person) for item in left):
        if reason:
            raise reason
    return step


def own_step(preparation: Preparation, place: int, person: Person) -> Step:
    """Return a check that this pharmacist finished, or is at."""
    step = preparation.steps.filter(place=place).first()
    if step is None or is_maker(preparation, person) or step.finished_by_id not in (None, person.pk):
        raise OutOfOrder()
    return step


def hold_for(preparation: Preparation, number: int, person: Person) -> Hold:
    """Return an open hold for a pharmacist who made no part of the preparation."""
    if is_maker(preparation, person):
        raise NotIndependent(name=person.name)
    hold = preparation.holds.filter(pk=number, resolved_at=None).select_related("opened_by", "step").first()
    if hold is None:
        raise NoSuchHold()
    return hold


def frame(preparation: Preparation, step: Step, act: str, refusal: str = "") -> CheckFrame:
    """Return what every check has. `act` names the address its form is sent to."""
    where = [preparation.code, step.place]
    return CheckFrame(
        identity=identity(preparation, from_plain(preparation.worksheet)),
        number=preparation.order.number,
        place=step.place,
        what=step_name(step),
        since=step.started_at or timezone.now(),
        key=secrets.token_hex(16),
        act_url=reverse(act, args=where),
        refuse_url=reverse("refuse_check", args=where),
        refusal=refusal,
    )


def first_check(
    preparation: Preparation,
    step: Step,
    *,
    refusal: str = "",
    typed: Mapping[str, str] | None = None,
    faults: Mapping[str, str] | None = None,
) -> FirstCheckScreen:
    """Return the first check: only what the order and the labels of the products say."""
    worksheet, typed, faults = from_plain(preparation.worksheet), typed or {}, faults or {}
    return FirstCheckScreen(
        frame=frame(preparation, step, "recalculate", refusal),
        order=order_view(preparation.order),
        method=worksheet.method,
        products=_products(worksheet),
        containers=containers(preparation),
        asks=tuple(_ask(transfer, worksheet, typed, faults) for transfer in worksheet.transfers),
        cautions=tuple(_caution(caution, typed, faults) for caution in worksheet.cautions),
        has_seen_materials=bool(typed.get("materials")),
    )


def _caution(caution: Caution, typed: Mapping[str, str], faults: Mapping[str, str]) -> CautionAsk:
    field = f"reason_{caution.code}"
    return CautionAsk(field, caution.text, typed.get(field, ""), faults.get(field, ""))


def _ask(
    transfer: Transfer, worksheet: Worksheet, typed: Mapping[str, str], faults: Mapping[str, str]
) -> Ask:
    field = f"volume_{transfer.number}"
    return Ask(field, _asked(transfer, worksheet), typed.get(field, ""), faults.get(field, ""))


def _asked(transfer: Transfer, worksheet: Worksheet) -> str:
    """Say which volume is asked for, without a number that could stand for it."""
    drug = worksheet.ingredients[(transfer.ingredient or 1) - 1].written
    where = {
        Purpose.RECONSTITUTE: _("Diluent into each vial of %(drug)s")
        if transfer.times > 1
        else _("Diluent into the vial of %(drug)s"),
        Purpose.WITHDRAW: _("Diluent withdrawn from the bag first"),
        Purpose.DRUG: _("%(drug)s into each unit") if transfer.times > 1 else _("%(drug)s in all"),
        Purpose.FILL: _("Diluent to fill up with"),
    }
    return where[transfer.purpose] % {"drug": drug}


def _products(worksheet: Worksheet) -> tuple[ProductFact, ...]:
    facts = []
    for ingredient in worksheet.ingredients:
        product = Product.objects.select_related("reconstitution_diluent").get(gtin=ingredient.product)
        diluent = product.reconstitution_diluent
        facts.append(
            ProductFact(
                name=product.name,
                content=product.content,
                strength=write(ingredient.strength),
                diluent=diluent.name if diluent else "",
                how=product.reconstitution_way,
            )
        )
    return tuple(facts)


def sight(
    preparation: Preparation, step: Step, *, refusal: str = "", typed: str = "", reason: str = ""
) -> SightScreen | None:
    """Return the next syringe to read at this step, or None when all are read."""
    worksheet = from_plain(preparation.worksheet)
    left = unread_items(step, worksheet)
    if not left:
        return None
    draw = Remains(preparation).draw(left[0].draw)
    units = reading_view(step, worksheet)
    return SightScreen(
        frame=frame(preparation, step, "sight_draw", refusal),
        order=order_view(preparation.order),
        containers=_of_draw(preparation, draw),
        draw=draw.number,
        syringe=write(draw.syringe.size),
        beside=_(" and ").join(portion.container for portion in draw.sources),
        of_what=worksheet.transfer_of(draw.number).of_what,
        number=left[0].number,
        of=units.of if units else 1,
        typed=typed,
        reason=reason,
        units=units,
        cannot_read_url=reverse("cannot_read", args=[preparation.code, step.place]),
        photographs=photographs.of_showing(preparation, step, draw.number),
        unreadable_url=reverse("cannot_read_photograph", args=[preparation.code, step.place]),
    )


def containers(preparation: Preparation) -> tuple[SeenContainer, ...]:
    """Return the containers as they were scanned."""
    return tuple(
        SeenContainer(
            item.container, item.lot.product.name, item.lot.number, date_format(item.lot.expires_on)
        )
        for item in preparation.materials.select_related("lot__product").order_by("pk")
    )


def _of_draw(preparation: Preparation, draw: Draw) -> tuple[SeenContainer, ...]:
    keys = {portion.container for portion in draw.sources}
    return tuple(container for container in containers(preparation) if container.key in keys)
