"""The gate: one small function per reason why a preparation may not be released. No answer means it may."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from checklists import dissolved, vouching
from checklists.agreeing import Amounts, amounts_of
from checklists.audit import first_fault
from checklists.clocks import MENDED_BY
from checklists.controlled import unaccounted
from checklists.counting import live_units, rejected_draws
from checklists.independence import is_maker, read_twice
from checklists.method.batch import is_batch
from checklists.method.reconciling import faults
from checklists.method.step_kinds import KINDS, Takes
from checklists.models import Entry, Material, Person, Preparation
from checklists.refusals import Blocker
from checklists.tallying import last_count, tally
from compounding.formulary import codes
from compounding.formulary.models import Order
from compounding.reckoning.worksheet import Worksheet, from_plain

OVER = (Preparation.State.RELEASED, Preparation.State.DISCARDED, Preparation.State.ON_PAPER)


@dataclass(frozen=True)
class Look:
    """What every blocker is given."""

    preparation: Preparation
    worksheet: Worksheet
    person: Person
    now: datetime


def blockers(preparation: Preparation, person: Person, now: datetime) -> tuple[Blocker, ...]:
    """Return every reason why `person` may not release the preparation now."""
    look = Look(preparation, from_plain(preparation.worksheet), person, now)
    return tuple(
        Blocker(code=blocker.__name__.replace("_", "-"), sentence=sentence)
        for blocker in BLOCKERS
        for sentence in blocker(look)
    )


def ended_already(look: Look) -> Iterator[str]:
    """Released or discarded work is not released again."""
    if look.preparation.state in OVER:
        yield f"It is {look.preparation.get_state_display()} already."


def not_handed_over(look: Look) -> Iterator[str]:
    """The technician has not handed it over."""
    if look.preparation.state in (Preparation.State.IN_WORK, Preparation.State.PAUSED):
        yield "It is not handed over yet."


def step_missing(look: Look) -> Iterator[str]:
    """Every step but release itself is finished."""
    for step in look.preparation.steps.filter(finished_at=None):
        if KINDS[step.kind].takes is not Takes.SIGNATURE:
            yield f"The step “{step.kind.replace('_', ' ')}” is not finished."


def first_check_missing(look: Look) -> Iterator[str]:
    """Every transfer was worked out by a pharmacist, and the last answer agreed."""
    last = {answer.transfer: answer for answer in look.preparation.recalculations.order_by("attempt")}
    for transfer in look.worksheet.transfers:
        answer = last.get(transfer.number)
        if answer is None:
            yield f"The first check of {transfer.of_what} is missing."
        elif not answer.agrees:
            yield f"The first check of {transfer.of_what} differs."


def caution_without_reason(look: Look) -> Iterator[str]:
    """Every caution of the worksheet has the reason of the pharmacist who took the last first check."""
    given = reasons_given(look.preparation).reasons if look.worksheet.cautions else {}
    for caution in look.worksheet.cautions:
        if not given.get(caution.code):
            yield f"No reason is recorded for this: {caution.text}"


@dataclass(frozen=True)
class Reasons:
    """The reasons given at a first check, by the code of the caution; by whom and when."""

    reasons: Mapping[str, str]
    by: str = ""
    at: datetime | None = None


def reasons_given(preparation: Preparation) -> Reasons:
    """Return the reasons of the last first check, as its entry holds them; none before any."""
    entry = preparation.entries.filter(act="first check").select_related("person").last()
    reasons = _facts(entry).get("reasons", {}) if entry else {}
    if entry is None or not isinstance(reasons, dict):
        return Reasons({})
    return Reasons(reasons, entry.person.name, entry.at)


def _facts(entry: Entry) -> dict[str, Any]:
    """Return the facts of an entry; none of one that was tampered with: `record_broken` says so."""
    try:
        return dict(json.loads(entry.text)["facts"])
    except (ValueError, KeyError, TypeError):
        return {}


def amount_missing(look: Look) -> Iterator[str]:
    """Every draw has a drawn and a seen amount, but of rejected units and of what was done elsewhere."""
    for one in _needed(look):
        if one.reading is None:
            yield f"Draw {one.draw.number} has no drawn amount."
        elif one.sighting is None:
            yield f"Draw {one.draw.number} was not seen by a checker."


def amounts_disagree(look: Look) -> Iterator[str]:
    """The last reading of every draw and its last sighting agree with what is required."""
    for one in _needed(look):
        if one.is_seen and not one.agree:
            yield f"The three amounts of draw {one.draw.number} disagree."


def _needed(look: Look) -> list[Amounts]:
    gone = rejected_draws(look.preparation, look.worksheet)
    gone |= vouching.excused(look.preparation, look.worksheet)
    draws = (draw for draw in look.worksheet.draws if draw.number not in gone)
    return [amounts_of(look.preparation, draw) for draw in draws]


def dissolved_elsewhere(look: Look) -> Iterator[str]:
    """What was dissolved for another preparation agreed there, and nothing has put that in doubt since."""
    for vial in dissolved.vials(look.preparation, look.worksheet):
        name = f"{vial.key.capitalize()} was dissolved for {codes.grouped(vial.there.code)}"
        for fault in vouching.faults(vial):
            yield f"{name}, and that does not count here: {fault}"
        if vial.is_drawn_late:
            yield f"{name}, and drawn from after its time had ended."


def second_reading_missing(look: Look) -> Iterator[str]:
    """Where the policy asked for it at opening, two pharmacists read the last filling, and both agreed."""
    wanted = read_twice(look.preparation)
    for one in _needed(look):
        if one.draw.number in wanted and one.reading and one.readers < 2:
            number = one.draw.number
            yield f"Draw {number} needs two pharmacists who read it and agree; there is one or none."


def waste_unaccounted(look: Look) -> Iterator[str]:
    """What is left of a controlled medicine was destroyed before a witness, as much as there is."""
    for one in unaccounted(look.preparation):
        yield f"{one.written} left of {one.name} ({one.container}) is not accounted for with a witness."


def clock_not_mended(look: Look) -> Iterator[str]:
    """No draw was taken after a clock had run out that nothing mended since."""
    for entry in look.preparation.entries.filter(act="draw"):
        facts = _facts(entry)
        for name in map(str, facts.get("lapsed") or ()):
            kinds = MENDED_BY.get(name, ())  # type: ignore[call-overload]
            if not look.preparation.steps.filter(kind__in=kinds, finished_at__gt=entry.at).exists():
                yield f"Draw {facts['draw']} was taken when a time was over ({name}), and nothing mended it."


def not_independent(look: Look) -> Iterator[str]:
    """Neither the releasing pharmacist nor any checker made a part of it."""
    if look.person.role != Person.Role.PHARMACIST:
        yield "Only a pharmacist releases."
    if is_maker(look.preparation, look.person):
        yield f"{look.person.name} made a part of it and cannot release it."
    for name in sorted(_checkers_who_made(look.preparation)):
        yield f"{name} both made and checked a part of it."


def _checkers_who_made(preparation: Preparation) -> set[str]:
    seen = {sighting.person for reading in preparation.readings.all() for sighting in reading.sightings.all()}
    worked_out = {answer.person for answer in preparation.recalculations.select_related("person")}
    inspected = {
        step.finished_by for step in preparation.steps.filter(kind="final_check", finished_by__isnull=False)
    }
    return {
        person.name for person in seen | worked_out | inspected if person and is_maker(preparation, person)
    }


def hold_open(look: Look) -> Iterator[str]:
    """No hold is open."""
    for hold in look.preparation.holds.filter(resolved_at=None):
        yield f"A hold is open: {hold.get_cause_display()}."


def material_unfit(look: Look) -> Iterator[str]:
    """Every container was scanned, is the right product, in date, and neither quarantined nor recalled."""
    scanned = {item.container: item for item in look.preparation.materials.select_related("lot__product")}
    left_out = dissolved.without_use(look.preparation, look.worksheet)
    for container in (one for one in look.worksheet.containers if one.key not in left_out):
        item = scanned.get(container.key)
        if item is None:
            yield f"{container.key.capitalize()} was not scanned."
        elif item.lot.product.gtin != container.product:
            yield f"{container.key.capitalize()} is {item.lot.product.name}, not {container.name}."
        elif not item.lot.is_in_date(look.now):
            yield f"{item.lot} has expired."
        elif not item.lot.is_usable(look.now):
            yield f"{item.lot} is {item.lot.get_state_display().lower()}."
    yield from _further_unfit(look, scanned)


def _further_unfit(look: Look, scanned: Mapping[str, Material]) -> Iterator[str]:
    """Every further container that serves a draw was scanned, is the right product, and is fit."""
    own = {one.key: one for one in look.worksheet.containers}
    serving = set(look.preparation.servings.values_list("served_by", flat=True)) - set(own)
    for key in sorted(serving - set(scanned)):
        yield f"{key.capitalize()} was not scanned."
    for key, item in scanned.items():
        if key in own:
            continue
        if item.stands_for not in own or item.lot.product.gtin != own[item.stands_for].product:
            yield f"{key.capitalize()} is {item.lot.product.name}, which nothing here asks for."
        elif not item.lot.is_usable(look.now):
            yield f"{item.lot} is not usable any more."


def label_not_scanned_back(look: Look) -> Iterator[str]:
    """The last label printed of every unit was put on and scanned back."""
    last = {label.unit: label for label in look.preparation.labels.order_by("print_number")}
    for unit in live_units(look.preparation, look.worksheet):
        of_unit = f" of unit {unit}" if look.worksheet.units > 1 else ""
        if unit not in last:
            yield f"The label{of_unit} was not printed."
        elif last[unit].scanned_back_at is None:
            yield f"The label{of_unit} was not scanned back."


def batch_not_reconciled(look: Look) -> Iterator[str]:
    """A batch was reconciled, and still adds up: also after what happened since."""
    if not is_batch(look.worksheet):
        return
    count = last_count(look.preparation)
    if count is None:
        yield "The batch is not reconciled."
        return
    found = tally(look.preparation, look.worksheet, in_hand=count.in_hand, destroyed=count.destroyed)
    for fault in faults(found):
        yield f"The batch does not add up: {fault}"


def beyond_use_lapsed(look: Look) -> Iterator[str]:
    """Its beyond-use time is not over."""
    if look.now >= look.preparation.beyond_use_at:
        ended = timezone.localtime(look.preparation.beyond_use_at)
        yield f"Its beyond-use time ended {ended:%d %b %Y %H:%M}."


def order_not_active(look: Look) -> Iterator[str]:
    """The order still asks for it."""
    order = Order.objects.get(pk=look.preparation.order_id)
    if order.state != "active":
        yield f"The order was {order.get_state_display().lower()}."


def record_broken(look: Look) -> Iterator[str]:
    """Its record is as it was written."""
    fault = first_fault(look.preparation)
    if fault:
        yield f"Entry {fault.number} of its record is not as it was written."


#: In the order in which a person would want to hear them.
BLOCKERS: tuple[Callable[[Look], Iterator[str]], ...] = (
    ended_already,
    hold_open,
    order_not_active,
    not_handed_over,
    step_missing,
    first_check_missing,
    caution_without_reason,
    amount_missing,
    amounts_disagree,
    dissolved_elsewhere,
    second_reading_missing,
    clock_not_mended,
    not_independent,
    material_unfit,
    waste_unaccounted,
    label_not_scanned_back,
    batch_not_reconciled,
    beyond_use_lapsed,
    record_broken,
)
