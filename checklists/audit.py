"""Verify a preparation's chain of entries and name the first that is not as it was written."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC

from checklists.method.chain import GENESIS, digest
from checklists.models import Entry, Preparation


@dataclass(frozen=True)
class Fault:
    """The first entry of a preparation that is not as it was written, and what is off."""

    preparation: str
    number: int
    what: str


def first_fault(preparation: Preparation) -> Fault | None:
    """Return the first bad entry of the preparation, or None when the whole chain holds."""
    previous, expected = GENESIS, 1
    for entry in preparation.entries.select_related("person").order_by("number"):
        what = _what_is_off(preparation, entry, previous, expected)
        if what:
            return Fault(preparation.code, expected, what)
        previous, expected = entry.digest, expected + 1
    if expected == 1:
        return Fault(preparation.code, 1, "there is no entry at all")
    if preparation.version != expected - 1:
        return Fault(preparation.code, expected, "an entry at the end is missing")
    return None


def faults(preparations: Iterable[Preparation]) -> list[Fault]:
    """Return the first bad entry of every preparation that has one."""
    return [fault for fault in map(first_fault, preparations) if fault]


def _what_is_off(preparation: Preparation, entry: Entry, previous: str, expected: int) -> str:
    checks = (
        (entry.number == expected, "an entry before it is missing"),
        (entry.previous == previous, "it does not follow the entry before it"),
        (entry.digest == digest(entry.previous, entry.text), "its text or digest was changed"),
        (_repeats_its_text(preparation, entry), "its act, person, time or key differs from its text"),
    )
    return next((what for holds, what in checks if not holds), "")


def _repeats_its_text(preparation: Preparation, entry: Entry) -> bool:
    try:
        written = json.loads(entry.text)
    except ValueError:
        return False
    return (
        written.get("preparation"),
        written.get("number"),
        written.get("act"),
        written.get("badge"),
        written.get("at"),
        written.get("key"),
    ) == (
        preparation.code,
        entry.number,
        entry.act,
        entry.person.badge,
        entry.at.astimezone(UTC).isoformat(),
        entry.key,
    )
