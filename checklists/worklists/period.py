"""All about the preparations that ended in a period, as plain data: for another system, or for years."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from checklists.models import Preparation
from checklists.worklists.from_paper import on_paper
from checklists.worklists.supervision import ENDED

Row = tuple[str, ...]
HEAD = (
    "preparation", "state", "order", "formulation", "version", "patient number", "ward", "technician", "hood",
    "opened at", "ended at", "beyond use at", "entries", "last digest",
)  # fmt: skip
AMOUNTS_HEAD = (
    "preparation", "draw", "attempt", "required mL", "drawn mL", "drawn by", "seen mL", "seen by", "agrees",
)  # fmt: skip
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def ended_between(since: datetime, until: datetime) -> list[Preparation]:
    """Return the preparations that ended then, in that order."""
    found = Preparation.objects.filter(
        state__in=(*ENDED, Preparation.State.ON_PAPER), ended_at__gte=since, ended_at__lt=until
    )
    return list(
        found.select_related("order__formulation", "technician", "made_in").order_by("ended_at", "pk")
    )


def whole(preparation: Preparation) -> dict[str, Any]:
    """Return a whole record: every entry's own text with its digest, so that the chain can be proved anew."""
    return {
        "preparation": preparation.code,
        "order": preparation.order.number,
        "state": str(preparation.state),
        "opened_at": preparation.opened_at.isoformat(),
        "ended_at": preparation.ended_at.isoformat() if preparation.ended_at else None,
        "entries": [
            {
                "text": json.loads(one.text),
                "written": one.text,
                "previous": one.previous,
                "digest": one.digest,
            }
            for one in preparation.entries.all()
        ],
    }


def preparation_rows(preparations: list[Preparation]) -> Iterator[Row]:
    """Yield a line for each preparation."""
    yield HEAD
    for one in preparations:
        last = one.entries.last()
        yield _cells(
            one.code, one.state, one.order.number, one.order.formulation.code,
            one.worksheet["formulation_version"], one.order.patient_identifier, one.order.ward,
            one.technician.name, one.made_in.name if one.made_in else "", one.opened_at.isoformat(),
            one.ended_at.isoformat() if one.ended_at else "", one.beyond_use_at.isoformat(),
            last.number if last else 0, last.digest if last else "",
        )  # fmt: skip


def amount_rows(preparations: list[Preparation]) -> Iterator[Row]:
    """Yield a line for each reading of each syringe, with every sighting of it."""
    yield AMOUNTS_HEAD
    for one in preparations:
        yield from _from_paper(one)
        required = {
            draw["number"]: draw["target"].removesuffix(" mL")
            for transfer in one.worksheet["transfers"]
            for draw in transfer["draws"]
        }
        for reading in one.readings.select_related("person").order_by("draw", "attempt"):
            drawn = (one.code, reading.draw, reading.attempt, required.get(reading.draw, ""),
                     f"{reading.volume_ml.normalize():f}", reading.person.name)  # fmt: skip
            seen = list(reading.sightings.select_related("person").order_by("pk"))
            for sighting in seen:
                volume = f"{sighting.volume_ml.normalize():f}"
                yield _cells(*drawn, volume, sighting.person.name, "yes" if sighting.agrees else "no")
            if not seen:
                yield _cells(*drawn, "", "", "")


def _from_paper(preparation: Preparation) -> Iterator[Row]:
    """Yield the amounts of work done on paper; in place of an attempt they say so."""
    paper = on_paper(preparation)
    if paper is None:
        return
    for row in paper.rows:
        three = [text.removesuffix(" mL") for text in (row.required, row.drawn, row.seen)]
        yield _cells(
            preparation.code, row.draw, "on paper", three[0], three[1], paper.made_by, three[2],
            paper.seen_by, "yes",
        )  # fmt: skip


def _cells(*values: object) -> Row:
    """Write a line; a spreadsheet must not read a typed text as a formula."""
    written = (str(value) for value in values)
    return tuple(f"'{text}" if text.startswith(FORMULA) else text for text in written)
