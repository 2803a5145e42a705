"""The tables beside the record, compared with the entries that tell how they came to be.

The chain shows that no entry was changed. This shows that nothing which is queried beside the entries was:
the frozen worksheet, what was drawn, seen and worked out, containers, photographs, holds, labels, what went
wrong and was lost, who finished which step, and how it ended. It is named by the entry that made it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from decimal import DecimalException

from django.core.exceptions import ObjectDoesNotExist
from django.db import DatabaseError

from checklists import entered
from checklists.entered import Made, Row, Told
from checklists.method.chain import fingerprint
from checklists.models import Preparation, Reading, Recalculation, Sighting, Unreadable, Waste
from compounding.reckoning.quantities import of, write

Rows = Iterable[Row]
#: What reading a row gives whose bytes were changed.
UNREADABLE = (DatabaseError, DecimalException, KeyError, ObjectDoesNotExist, TypeError, ValueError)


def differences(preparation: Preparation) -> Iterator[str]:
    """Yield in words, after the entry that made it, what is stored differently from what the entries say."""
    told = [(entry, json.loads(entry.text)["facts"]) for entry in preparation.entries.all()]
    for what, from_entries, from_tables in COMPARED:
        try:
            yield from _compared(what, list(from_entries(told)), set(from_tables(preparation)))
        except UNREADABLE:
            yield f"{what} cannot be read as it was written"


def _compared(what: str, made: list[tuple[int, Row]], standing: set[Row]) -> Iterator[str]:
    missing = [number for number, row in made if row not in standing]
    for number in dict.fromkeys(missing):
        yield f"entry {number}: {what} that it made was changed or is missing"
    if not missing and standing - {row for _number, row in made}:
        yield f"{what} stands beside the record that no entry made"


def _ml(one: Reading | Sighting | Recalculation | Waste) -> str:
    return write(of(one.volume_ml, "mL"))


def _worksheets(preparation: Preparation) -> Rows:
    yield json.dumps(preparation.worksheet, sort_keys=True), preparation.opened_at


def _orders(preparation: Preparation) -> Rows:
    yield (preparation.order.number,)


def _technicians(preparation: Preparation) -> Rows:
    """Whoever made it on paper is named by a badge that may be a former one."""
    if preparation.state != Preparation.State.ON_PAPER:
        yield (preparation.technician_id,)
        return
    person, first = preparation.technician, preparation.entries.all()[0]
    badges = {person.badge, *person.former_badges.values_list("badge", flat=True)}
    yield from ((one,) for one in badges & {entered.made_by(json.loads(first.text)["facts"])})


def _readings(preparation: Preparation) -> Rows:
    for one in preparation.readings.all():
        yield one.draw, one.attempt, _ml(one), one.is_at_mark, one.person_id, one.at


def _sightings(preparation: Preparation) -> Rows:
    for one in Sighting.objects.filter(reading__preparation=preparation).select_related("reading"):
        yield one.reading.draw, one.reading.attempt, _ml(one), one.agrees, one.person_id, one.at


def _recalculations(preparation: Preparation) -> Rows:
    for one in preparation.recalculations.all():
        yield one.transfer, one.attempt, _ml(one), one.agrees, one.person_id, one.at


def _materials(preparation: Preparation) -> Rows:
    for one in preparation.materials.select_related("lot__product", "opened"):
        opened = one.opened.code if one.opened else ""
        gtin, lot = one.lot.product.gtin, one.lot.number
        yield one.container, one.stands_for, gtin, lot, one.serial, opened, one.person_id, one.at


def _photographs(preparation: Preparation) -> Rows:
    for one in preparation.photographs.select_related("step"):
        shown = tuple(one.draws), tuple(one.attempts)
        yield one.step.place, *shown, one.file, one.sha256, one.taken_by_id, one.at


def _unreadables(preparation: Preparation) -> Rows:
    found = Unreadable.objects.filter(photograph__preparation=preparation).select_related("photograph")
    return ((one.photograph.file, one.wants, one.person_id, one.at) for one in found)


def _holds(preparation: Preparation) -> Rows:
    for one in preparation.holds.all():
        yield one.cause, one.note, tuple(one.draws), one.opened_by_id, one.opened_at


def _resolutions(preparation: Preparation) -> Rows:
    """What one discards resolves every hold that is open, alike."""
    for one in preparation.holds.exclude(resolved_at=None):
        yield one.resolution, one.reason, one.resolved_by_id, one.resolved_at


def _labels(preparation: Preparation) -> Rows:
    for one in preparation.labels.all():
        row = one.code, one.unit, fingerprint({"words": one.words})
        yield *row, one.print_number, one.reason, one.printed_by_id, one.printed_at


def _scanned_back(preparation: Preparation) -> Rows:
    return preparation.labels.exclude(scanned_back_at=None).values_list("code", "scanned_back_at")


def _mishaps(preparation: Preparation) -> Rows:
    for one in preparation.mishaps.all():
        yield one.code, one.about, one.consequence, one.person_id, one.at


def _waste(preparation: Preparation) -> Rows:
    return ((one.draw, one.attempt, one.container, _ml(one)) for one in preparation.waste.all())


def _servings(preparation: Preparation) -> Rows:
    return ((f"draw {one.draw} from {one.container}", one.served_by) for one in preparation.servings.all())


def _disclosures(preparation: Preparation) -> Rows:
    return preparation.disclosures.values_list("draw", "person", "at")


def _steps(preparation: Preparation) -> Rows:
    """A maker's step has its place in its entry. Any other was ended by somebody's act at that very time."""
    entries = preparation.entries.all()
    makers = {json.loads(one.text)["facts"]["place"] for one in entries if one.act == "finish"}
    acted = {(one.person_id, one.at) for one in entries}
    for one in preparation.steps.exclude(finished_at=None):
        by = one.finished_by_id, one.finished_at
        if one.place in makers or by not in acted:
            yield one.kind, one.place, *by


def _ends(preparation: Preparation) -> Rows:
    ended = (Preparation.State.RELEASED, Preparation.State.DISCARDED, Preparation.State.ON_PAPER)
    if preparation.state in ended or preparation.ended_at:
        yield str(preparation.state), preparation.ended_at


def _dates(preparation: Preparation) -> Rows:
    """Say whether its beyond-use time is the earliest of the worksheet's own and its containers'."""
    own = datetime.fromisoformat(preparation.worksheet["beyond_use_at"])
    materials = preparation.materials.select_related("lot", "opened")
    if preparation.state == Preparation.State.ON_PAPER:
        materials = materials.none()  # the paper said what was good until when
    limits = [one.opened.use_ends_at if one.opened else one.lot.expires_at for one in materials]
    yield (preparation.beyond_use_at == min((own, *limits)),)


Compared = tuple[str, Callable[[Told], Made], Callable[[Preparation], Rows]]
COMPARED: tuple[Compared, ...] = (
    ("the worksheet", entered.opened, _worksheets),
    ("the order", entered.ordered, _orders),
    ("the technician", entered.taken_up, _technicians),
    ("a first check", entered.worked_out, _recalculations),
    ("a container", entered.scanned, _materials),
    ("a drawn amount", entered.drawn, _readings),
    ("a photograph", entered.photographed, _photographs),
    ("a photograph nobody could read", entered.unread, _unreadables),
    ("a seen amount", entered.seen, _sightings),
    ("a hold", entered.held, _holds),
    ("a resolution", entered.resolved, _resolutions),
    ("a label", entered.printed, _labels),
    ("a label scanned back", entered.put_on, _scanned_back),
    ("a mishap", entered.went_wrong, _mishaps),
    ("a loss", entered.lost, _waste),
    ("a further container's use", entered.served, _servings),
    ("a disclosure", entered.shown, _disclosures),
    ("a finished step", entered.finished, _steps),
    ("the beyond-use time", entered.dated, _dates),
    ("how it ended", entered.ended, _ends),
)
