"""The tables that hold amounts and states, compared with the entries that tell how they came to be.

The chain shows that no entry was changed. This shows that nothing which is queried beside the entries was:
the frozen worksheet, what was drawn, seen and worked out, and whether the preparation was released.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from decimal import DecimalException
from typing import Any

from django.db import DatabaseError

from checklists.models import Entry, Preparation, Reading, Recalculation, Sighting
from compounding.reckoning.quantities import of, write

Rows = set[tuple[object, ...]]


def differences(preparation: Preparation) -> Iterator[str]:
    """Yield in words each kind of thing that is stored differently from what its entries say."""
    told = [(entry, json.loads(entry.text)["facts"]) for entry in preparation.entries.all()]
    for what, from_entries, from_tables in COMPARED:
        try:
            same = from_entries(told) == from_tables(preparation)
        except (DatabaseError, DecimalException, KeyError, TypeError, ValueError):
            same = False
        if not same:
            yield f"{what} differs from what its entries say"


Told = list[tuple[Entry, dict[str, Any]]]


def _opened(told: Told) -> object:
    return told[0][1]["worksheet"], told[0][0].at


def _drawn(told: Told) -> Rows:
    return {
        (facts["draw"], facts["attempt"], facts["drawn"], facts["at_mark"], entry.person_id, entry.at)
        for entry, facts in told
        if entry.act == "draw"
    }


def _seen(told: Told) -> Rows:
    return {
        (facts["draw"], facts["attempt"], facts["seen"], facts["agrees"], entry.person_id, entry.at)
        for entry, facts in told
        if entry.act == "see draw"
    }


def _worked_out(told: Told) -> Rows:
    return {
        (
            int(number),
            facts["attempt"],
            volume,
            int(number) not in facts["differing"],
            entry.person_id,
            entry.at,
        )
        for entry, facts in told
        if entry.act == "first check"
        for number, volume in facts["volumes"].items()
    }


def _scanned(told: Told) -> Rows:
    on_paper = {
        (container, gtin, lot, entry.person_id, entry.at)
        for entry, facts in told
        if entry.act == "enter from paper"
        for container, (gtin, lot) in facts["containers"].items()
    }
    return on_paper | {
        (facts["container"], facts["gtin"], facts["lot"], entry.person_id, entry.at)
        for entry, facts in told
        if entry.act in ("finish", "unit done") and "gtin" in facts and "container" in facts
    }


def _lost(told: Told) -> list[tuple[str, ...]]:
    return sorted(
        (key, str(facts.get("draw", "")), str(facts.get("attempt", "")), volume)
        for entry, facts in told
        if entry.act == "waste"
        for key, volume in facts["volumes"].items()
    )


def _served(told: Told) -> list[tuple[str, str]]:
    return sorted(
        (key, by)
        for entry, facts in told
        if entry.act == "further container"
        for key, by in facts["serving"].items()
    )


def _ended(told: Told) -> str:
    acts = {entry.act for entry, _facts in told}
    if "enter from paper" in acts:
        return "on-paper"
    return "released" if "release" in acts else "discarded" if acts & {"abandon", "discard"} else ""


def _readings(preparation: Preparation) -> Rows:
    return {
        (one.draw, one.attempt, _ml(one), one.is_at_mark, one.person_id, one.at)
        for one in preparation.readings.all()
    }


def _sightings(preparation: Preparation) -> Rows:
    found = Sighting.objects.filter(reading__preparation=preparation).select_related("reading")
    return {
        (one.reading.draw, one.reading.attempt, _ml(one), one.agrees, one.person_id, one.at) for one in found
    }


def _recalculations(preparation: Preparation) -> Rows:
    return {
        (one.transfer, one.attempt, _ml(one), one.agrees, one.person_id, one.at)
        for one in preparation.recalculations.all()
    }


def _materials(preparation: Preparation) -> Rows:
    found = preparation.materials.select_related("lot__product")
    return {(one.container, one.lot.product.gtin, one.lot.number, one.person_id, one.at) for one in found}


def _waste(preparation: Preparation) -> list[tuple[str, ...]]:
    """Return it as its entries write it: what was destroyed in its container is rounded there."""
    return sorted(
        (
            one.container,
            str(one.draw or ""),
            str(one.attempt or ""),
            write(of(one.volume_ml, "mL"), 2 if one.draw is None else None),
        )
        for one in preparation.waste.all()
    )


def _servings(preparation: Preparation) -> list[tuple[str, str]]:
    return sorted(
        (f"draw {one.draw} from {one.container}", one.served_by) for one in preparation.servings.all()
    )


def _state(preparation: Preparation) -> str:
    ended = (Preparation.State.RELEASED, Preparation.State.DISCARDED, Preparation.State.ON_PAPER)
    return str(preparation.state) if preparation.state in ended else ""


def _ml(one: Reading | Sighting | Recalculation) -> str:
    return write(of(one.volume_ml, "mL"))


COMPARED: tuple[tuple[str, Callable[[Told], object], Callable[[Preparation], object]], ...] = (
    ("the worksheet", _opened, lambda preparation: (preparation.worksheet, preparation.opened_at)),
    ("a drawn amount", _drawn, _readings),
    ("a seen amount", _seen, _sightings),
    ("a first check", _worked_out, _recalculations),
    ("a container", _scanned, _materials),
    ("what was lost", _lost, _waste),
    ("which container serves", _served, _servings),
    ("how it ended", _ended, _state),
)
