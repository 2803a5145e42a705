"""What the record carries beside the acts: components, makers, who signed what, holds, readings, the label.

The fields of a compounding record (USP <797> 2023, from secondary sources; COMAR and 16 CCR 1735.3, page), of
a signature (21 CFR 11.50, page) and the label's specimen (21 CFR 211.188 (b), page).
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from checklists import labelled
from checklists.method.step_kinds import KINDS, Takes, row_of
from checklists.models import Label, Preparation, Step
from checklists.worklists.words import STAGES, STEP_NAMES
from compounding.formulary import codes
from compounding.reckoning.labelling import strength_written
from compounding.reckoning.quantities import of, write
from compounding.reckoning.working import short
from compounding.reckoning.worksheet import Worksheet, from_plain

CHECKED = (Takes.RECALCULATION, Takes.SIGHTING, Takes.INSPECTION, Takes.SIGNATURE)


@dataclass(frozen=True)
class Component:
    """One active ingredient: in a unit, in all of them, its strength as drawn and in the product."""

    name: str
    dose: str
    total: str
    strength: str
    volume: str
    concentration: str


@dataclass(frozen=True)
class Source:
    """One container as scanned: what it is, whose, which, and by whom and when it was taken."""

    key: str
    product: str
    maker: str
    gtin: str
    lot: str
    serial: str
    expires: datetime
    by: str
    at: datetime


@dataclass(frozen=True)
class Hand:
    """Somebody who had a part in it: as what, in which stages or checks, from when to when."""

    name: str
    role: str
    parts: tuple[str, ...]
    since: datetime
    until: datetime


@dataclass(frozen=True)
class Signed:
    """A signature: who, in which role, when, and what it means."""

    name: str
    role: str
    at: datetime
    act: str
    meaning: str


@dataclass(frozen=True)
class Held:
    """A hold: why the work stopped, who said so, and how, why and by whom it ended."""

    cause: str
    about: str
    by: str
    at: datetime
    ended: str
    reason: str
    ended_by: str
    ended_at: datetime | None


@dataclass(frozen=True)
class Read:
    """One reading of one draw, those that were drawn again too: what was declared, what was seen."""

    draw: int
    attempt: int
    declared: str
    by: str
    at: datetime
    seen: str = ""
    seen_by: str = ""
    seen_at: datetime | None = None


@dataclass(frozen=True)
class Print:
    """One print of the labels: how many, by whom, why again."""

    number: int
    count: int
    by: str
    at: datetime
    reason: str


@dataclass(frozen=True)
class Particulars:
    """All of it, as the record prints it. `specimen` are the lines of the first unit's last label."""

    begun_at: datetime
    ended_at: datetime | None
    hood: str
    total: str
    components: tuple[Component, ...]
    sources: tuple[Source, ...]
    hands: tuple[Hand, ...]
    signed: tuple[Signed, ...]
    holds: tuple[Held, ...]
    reads: tuple[Read, ...]
    prints: tuple[Print, ...]
    specimen: tuple[str, ...]
    stated: tuple[str, ...]


def particulars(preparation: Preparation) -> Particulars:
    """Return the particulars of a preparation's record."""
    worksheet = from_plain(preparation.worksheet)
    prints = list(preparation.labels.select_related("printed_by").order_by("print_number", "unit"))
    units = f"{worksheet.units} × " if worksheet.units > 1 else ""
    return Particulars(
        begun_at=preparation.opened_at,
        ended_at=preparation.ended_at,
        hood=preparation.made_in.name if preparation.made_in else "",
        total=f"{units}{write(worksheet.final_volume)}",
        components=tuple(_components(worksheet)),
        sources=tuple(_sources(preparation)),
        hands=tuple(_hands(preparation)),
        signed=tuple(_signed(preparation)),
        holds=tuple(_holds(preparation)),
        reads=tuple(_reads(preparation)),
        prints=tuple(_prints(prints)),
        specimen=_specimen(preparation, worksheet, prints),
        stated=tuple(_stated(preparation)),
    )


def _components(worksheet: Worksheet) -> Iterator[Component]:
    for one in worksheet.ingredients:
        total = one.dose * worksheet.units
        yield Component(
            name=one.written,
            dose=write(one.dose),
            total=write(total),
            strength=write(one.strength),
            volume=short(one.volume),
            concentration=strength_written(one.concentration),
        )


def _sources(preparation: Preparation) -> Iterator[Source]:
    for one in preparation.materials.select_related("lot__product", "person", "opened").order_by("pk"):
        product = one.lot.product
        opened = codes.grouped(one.opened.code) if one.opened else ""
        yield Source(
            key=one.container,
            product=product.name,
            maker=product.maker,
            gtin=product.gtin,
            lot=one.lot.number,
            serial=one.serial or opened,
            expires=one.lot.expires_at,
            by=one.person.name,
            at=one.at,
        )


def _hands(preparation: Preparation) -> Iterator[Hand]:
    """Yield everybody who finished a step, in the order of their first."""
    done: dict[int, list[Step]] = {}
    steps = preparation.steps.exclude(finished_by=None).select_related("finished_by")
    for step in steps.order_by("finished_at", "place"):
        done.setdefault(step.finished_by_id or 0, []).append(step)
    for its in done.values():
        person = its[0].finished_by
        if person:
            times = [step.finished_at for step in its if step.finished_at]
            parts = dict.fromkeys(_part(step) for step in its)
            yield Hand(person.name, person.get_role_display(), tuple(parts), min(times), max(times))


def _part(step: Step) -> str:
    """Return a check by its own name, other work by its stage."""
    is_check = KINDS[step.kind].takes in CHECKED
    return str(STEP_NAMES[step.kind] if is_check else STAGES[row_of(step).stage])


def _signed(preparation: Preparation) -> Iterator[Signed]:
    for entry in preparation.entries.select_related("person").order_by("number"):
        told = json.loads(entry.text)
        meaning = told["facts"].get("meaning")
        if meaning:
            yield Signed(entry.person.name, told["role"], entry.at, entry.act, meaning)


def _stated(preparation: Preparation) -> Iterator[str]:
    """Yield what the last final inspection stated."""
    last = preparation.entries.filter(act="final check").order_by("number").last()
    if last:
        yield from (STATED.get(name, name) for name in json.loads(last.text)["facts"]["stated"])


#: What each word of a final inspection means.
STATED = {
    "as_ordered": "label and contents match the order and the record",
    "clear": "clear, no particles, colour as expected, against white and against black",
    "sound": "the container is sound and does not leak",
    "used": "the used containers and what remains in them were seen",
}


def _holds(preparation: Preparation) -> Iterator[Held]:
    for one in preparation.holds.select_related("opened_by", "resolved_by"):
        draws = ", ".join(map(str, one.draws))
        yield Held(
            cause=one.get_cause_display(),
            about="; ".join(filter(None, [f"draw {draws}" if draws else "", one.note])),
            by=one.opened_by.name,
            at=one.opened_at,
            ended=one.get_resolution_display() if one.resolution else "",
            reason=one.reason,
            ended_by=one.resolved_by.name if one.resolved_by else "",
            ended_at=one.resolved_at,
        )


def _reads(preparation: Preparation) -> Iterator[Read]:
    readings = preparation.readings.select_related("person").prefetch_related("sightings__person")
    for one in readings.order_by("draw", "attempt"):
        unseen = Read(one.draw, one.attempt, write(of(one.volume_ml, "mL")), one.person.name, one.at)
        sightings = one.sightings.all()
        if not sightings:
            yield unseen
        for seen in sightings:
            volume = write(of(seen.volume_ml, "mL"))
            yield replace(unseen, seen=volume, seen_by=seen.person.name, seen_at=seen.at)


def _prints(labels: list[Label]) -> Iterator[Print]:
    for number in dict.fromkeys(label.print_number for label in labels):
        its = [label for label in labels if label.print_number == number]
        yield Print(number, len(its), its[0].printed_by.name, its[0].printed_at, its[0].reason)


def _specimen(preparation: Preparation, worksheet: Worksheet, prints: list[Label]) -> tuple[str, ...]:
    if not prints:
        return ()
    last = next(label for label in prints if label.print_number == prints[-1].print_number)
    text = labelled.as_printed(last, labelled.text_of(preparation, worksheet, last.unit))
    return tuple(line.text for line in text.lines)
