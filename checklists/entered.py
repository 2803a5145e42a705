"""What the entries of a preparation say that the tables beside them hold: rows after their entry's number."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from checklists.method.batch import alike
from checklists.method.on_paper import ACT as ON_PAPER
from checklists.models import Entry
from compounding.reckoning.worksheet import from_plain

Facts = dict[str, Any]
Told = list[tuple[Entry, Facts]]
Row = tuple[object, ...]
#: A row that an entry made, after the number of that entry.
Made = Iterator[tuple[int, Row]]


def _acts(told: Told, *acts: str) -> Iterator[tuple[Entry, Facts]]:
    return ((entry, facts) for entry, facts in told if entry.act in acts)


def opened(told: Told) -> Made:
    """Yield the worksheet, and when it was frozen."""
    entry, facts = told[0]
    yield entry.number, (json.dumps(facts["worksheet"], sort_keys=True), entry.at)


def ordered(told: Told) -> Made:
    """Yield the order that the work belongs to now."""
    for entry, facts in list(_acts(told, "open", ON_PAPER, "adopt order"))[-1:]:
        yield entry.number, (facts["order"],)


def taken_up(told: Told) -> Made:
    """Yield whose work it is now."""
    for entry, facts in list(_acts(told, "open", ON_PAPER, "resume"))[-1:]:
        yield entry.number, (made_by(facts) if entry.act == ON_PAPER else entry.person_id,)


def made_by(facts: Facts) -> str:
    """Return the badge of whoever made it on paper."""
    return str(facts["made_by"]).rpartition("(")[2].rstrip(")")


def drawn(told: Told) -> Made:
    """Yield each amount declared as drawn."""
    for entry, facts in _acts(told, "draw"):
        yield (
            entry.number,
            (facts["draw"], facts["attempt"], facts["drawn"], facts["at_mark"], entry.person_id, entry.at),
        )


def seen(told: Told) -> Made:
    """Yield each amount that a checker read."""
    for entry, facts in _acts(told, "see draw"):
        yield (
            entry.number,
            (facts["draw"], facts["attempt"], facts["seen"], facts["agrees"], entry.person_id, entry.at),
        )


def worked_out(told: Told) -> Made:
    """Yield each volume of each first check."""
    for entry, facts in _acts(told, "first check"):
        for name, volume in facts["volumes"].items():
            agrees = int(name) not in facts["differing"]
            yield entry.number, (int(name), facts["attempt"], volume, agrees, entry.person_id, entry.at)


def scanned(told: Told) -> Made:
    """Yield each container, and whose place a further one takes."""
    likes: dict[str, str] = {}
    for entry, facts in _acts(told, ON_PAPER):
        for key, (gtin, lot) in facts["containers"].items():
            yield entry.number, (key, "", gtin, lot, "", "", entry.person_id, entry.at)
    for entry, facts in told:
        if entry.act == "further container":
            likes |= facts["containers"]
        if entry.act in ("finish", "unit done") and "gtin" in facts and "container" in facts:
            key = facts["container"]
            row = key, likes.get(key, ""), facts["gtin"], facts["lot"], facts["serial"], facts["opened"]
            yield entry.number, (*row, entry.person_id, entry.at)


def photographed(told: Told) -> Made:
    """Yield each photograph, with the digest of its file."""
    for entry, facts in _acts(told, "photograph"):
        shown = tuple(facts["draws"]), tuple(facts["attempts"])
        yield (
            entry.number,
            (facts["place"], *shown, facts["file"], facts["sha256"], entry.person_id, entry.at),
        )


def unread(told: Told) -> Made:
    """Yield each photograph that nobody could read."""
    for entry, facts in _acts(told, "cannot read photograph"):
        for file in facts["files"]:
            yield entry.number, (file, facts["wants"], entry.person_id, entry.at)


def held(told: Told) -> Made:
    """Yield each hold."""
    for entry, facts in _acts(told, "hold"):
        yield (
            entry.number,
            (facts["cause"], facts["note"], tuple(facts["draws"]), entry.person_id, entry.at),
        )


def resolved(told: Told) -> Made:
    """Yield each resolution of a hold."""
    for entry, facts in _acts(told, "resolve"):
        yield entry.number, (facts["resolution"], facts["reason"], entry.person_id, entry.at)


def printed(told: Told) -> Made:
    """Yield each label, with its unit and the digest of its words."""
    for entry, facts in _acts(told, "print label"):
        made = zip(facts["labels"], facts["units"], facts["fingerprints"], strict=True)
        for row in made:
            yield entry.number, (*row, facts["number"], facts["reason"], entry.person_id, entry.at)


def put_on(told: Told) -> Made:
    """Yield when each label was scanned back last."""
    last = {facts["label"]: entry for entry, facts in _acts(told, "finish", "unit done") if "label" in facts}
    return ((entry.number, (code, entry.at)) for code, entry in last.items())


def went_wrong(told: Told) -> Made:
    """Yield each mishap."""
    for entry, facts in _acts(told, "mishap"):
        row = facts["reason"], facts["about"], facts["consequence"], entry.person_id, entry.at
        yield entry.number, row


def lost(told: Told) -> Made:
    """Yield what was lost, of which container."""
    for entry, facts in _acts(told, "waste"):
        for container, volume in facts["volumes"].items():
            yield entry.number, (facts.get("draw"), facts.get("attempt"), container, volume)


def served(told: Told) -> Made:
    """Yield which draw takes which further container."""
    for entry, facts in _acts(told, "further container"):
        for taken, served_by in facts["serving"].items():
            yield entry.number, (taken, served_by)


def shown(told: Told) -> Made:
    """Who opened a hold or a comparison was shown its draws and all alike; the first time counts."""
    worksheet = from_plain(told[0][1]["worksheet"])
    known: set[tuple[int, int]] = set()
    for entry, facts in _acts(told, "see hold", "see amounts"):
        for draw in alike(worksheet, facts["draws"]):
            if (draw, entry.person_id) not in known:
                known.add((draw, entry.person_id))
                yield entry.number, (draw, entry.person_id, entry.at)


def finished(told: Told) -> Made:
    """Yield each step of a maker, by whom and when it was finished."""
    for entry, facts in _acts(told, "finish"):
        yield entry.number, (facts["step"], facts["place"], entry.person_id, entry.at)


def ended(told: Told) -> Made:
    """Yield how and when it ended."""
    states = {"release": "released", "abandon": "discarded", "discard": "discarded", ON_PAPER: "on-paper"}
    for entry, _facts in _acts(told, *states):
        yield entry.number, (states[entry.act], entry.at)


def dated(told: Told) -> Made:
    """Yield its beyond-use time is what it has to be."""
    yield told[0][0].number, (True,)
