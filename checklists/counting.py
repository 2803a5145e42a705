"""Which units of a counted step are left, which were rejected, and whether their stamps stand as written."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC
from typing import Any

from django.db import DatabaseError

from checklists.method.batch import Item, draws_of_units, items_of, shown_items
from checklists.models import Entry, Preparation, Rejection, Stamp, Step
from compounding.reckoning.worksheet import Worksheet

#: Acts that leave a row of their own beside their entry, and where.
STAMPED = {"unit done": "stamp", "cannot read": "stamp", "reject unit": "rejection"}


def rejected_units(preparation: Preparation) -> set[int]:
    """Return the units that were lost or spoiled."""
    return set(preparation.rejections.values_list("unit", flat=True))


def rejected_draws(preparation: Preparation, worksheet: Worksheet) -> set[int]:
    """Return the draws that nobody needs any more, because their unit was rejected."""
    return draws_of_units(worksheet, rejected_units(preparation))


def live_units(preparation: Preparation, worksheet: Worksheet) -> list[int]:
    """Return the units that the batch goes on with."""
    gone = rejected_units(preparation)
    return [unit for unit in range(1, worksheet.units + 1) if unit not in gone]


def items_left(step: Step, worksheet: Worksheet) -> tuple[Item, ...]:
    """Return what a counted step has still to count, in its order: the first is the one to do now."""
    done = set(step.stamps.values_list("unit", flat=True))
    gone = rejected_units(step.preparation)
    return tuple(
        item for item in items_of(step.about, worksheet) if item.number not in done and item.unit not in gone
    )


def unread_items(step: Step, worksheet: Worksheet) -> tuple[Item, ...]:
    """Return the syringes of a reading that nobody has read as they were drawn last, or passed over there."""
    last = {one.draw: one.pk for one in step.preparation.readings.order_by("attempt")}
    seen = step.sightings.values_list("reading__draw", "reading")
    read = {draw for draw, reading in seen if last[draw] == reading}
    passed = set(step.stamps.values_list("unit", flat=True))
    gone = rejected_draws(step.preparation, worksheet)
    return tuple(
        item
        for item in shown_items(step.about["draws"], worksheet)
        if item.draw not in read | gone and item.number not in passed
    )


def one_of(step: Step, item: Item) -> Step:
    """Return the step as it is for one unit alone: never saved, only to be read."""
    about = {**step.about, "number": item.number, "unit": item.unit, "draw": item.draw, "draws": [item.draw]}
    if item.container:
        about["container"] = item.container
    return Step(
        preparation=step.preparation,
        place=step.place,
        kind=step.kind,
        about=about,
        started_at=step.started_at,
    )


def off_the_record(preparation: Preparation) -> Iterator[tuple[int, str]]:
    """Yield the number of every entry whose stamp or rejection is not as it was written, and what is off."""
    try:
        yield from _off(preparation)
    except (DatabaseError, ValueError, KeyError, TypeError):
        yield preparation.version, "the stamps beside the entries cannot be read"


def _off(preparation: Preparation) -> Iterator[tuple[int, str]]:
    rows: list[Stamp | Rejection] = [
        *Stamp.objects.filter(step__preparation=preparation).select_related("entry", "person", "step"),
        *preparation.rejections.select_related("entry", "person"),
    ]
    by_entry = {row.entry_id: row for row in rows}
    for entry in preparation.entries.filter(act__in=STAMPED).order_by("number"):
        row = by_entry.pop(entry.pk, None)
        if row is None:
            yield entry.number, f"the {STAMPED[entry.act]} it made is missing"
        elif _written(entry) != _standing(row):
            yield entry.number, f"the {STAMPED[entry.act]} it made was changed"
    for row in by_entry.values():
        yield row.entry.number, "a stamp stands beside it that it did not make"


def _written(entry: Entry) -> dict[str, Any]:
    told = json.loads(entry.text)
    return {"badge": told["badge"], "at": told["at"], **told["facts"]}


def _standing(row: Stamp | Rejection) -> dict[str, Any]:
    at = row.at.astimezone(UTC).isoformat() if row.at else ""  # SQLite keeps what is no time
    facts = {"badge": row.person.badge, "at": at, "unit": row.unit}
    if isinstance(row, Rejection):
        return {**facts, "reason": row.reason}
    return {**facts, "step": row.step.kind, "place": row.step.place, **row.facts}
