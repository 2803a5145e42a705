"""Verify a preparation's chain of entries and name the first that is not as it was written."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC

from django.db import DatabaseError

from checklists import darkroom
from checklists.counting import off_the_record
from checklists.method.chain import GENESIS, digest
from checklists.models import Entry, Person, Preparation


@dataclass(frozen=True)
class Fault:
    """The first entry of a preparation that is not as it was written, and what is off."""

    preparation: str
    number: int
    what: str


def first_fault(preparation: Preparation) -> Fault | None:
    """Return the first bad entry of the preparation, or None when the whole chain holds."""
    previous, expected = GENESIS, 1
    for entry in _entries(preparation):
        what = _what_is_off(preparation, entry, previous, expected) if entry else "it cannot be read"
        if what or entry is None:
            return Fault(preparation.code, expected, what)
        previous, expected = entry.digest, expected + 1
    if expected == 1:
        return Fault(preparation.code, 1, "there is no entry at all")
    if preparation.version != expected - 1:
        return Fault(preparation.code, expected, "an entry at the end is missing")
    off = next((Fault(preparation.code, *off) for off in off_the_record(preparation)), None)
    return off or _photograph_fault(preparation)


def _photograph_fault(preparation: Preparation) -> Fault | None:
    """Return the first entry whose photograph is not there as it was kept. The chain itself holds."""
    for entry in preparation.entries.filter(act="photograph"):
        facts = json.loads(entry.text)["facts"]
        name, sha256 = str(facts["file"]), str(facts["sha256"])
        if not preparation.photographs.filter(file=name, sha256=sha256).exists():
            return Fault(preparation.code, entry.number, "its photograph is not in the record any more")
        if not darkroom.is_as_kept(name, sha256):
            return Fault(preparation.code, entry.number, "its photograph is missing or was changed")
    return None


def _entries(preparation: Preparation) -> Iterator[Entry | None]:
    """Yield the entries as they were appended; None for one whose bytes are no longer text or a time."""
    entries = preparation.entries.select_related("person").order_by("pk")
    try:
        yield from list(entries)
    except (DatabaseError, ValueError):
        for number in preparation.entries.order_by("pk").values_list("pk", flat=True):
            yield _one(number)


def _one(number: int) -> Entry | None:
    try:
        return Entry.objects.select_related("person").get(pk=number)
    except (DatabaseError, ValueError, Entry.DoesNotExist):
        return None


def faults(preparations: Iterable[Preparation]) -> list[Fault]:
    """Return the first bad entry of every preparation that has one."""
    return [fault for fault in map(first_fault, preparations) if fault]


def _what_is_off(preparation: Preparation, entry: Entry, previous: str, expected: int) -> str:
    checks: tuple[tuple[Callable[[], bool], str], ...] = (
        (lambda: entry.number == expected, "an entry before it is missing"),
        (lambda: entry.previous == previous, "it does not follow the entry before it"),
        (lambda: entry.digest == digest(entry.previous, entry.text), "its text or digest was changed"),
        (lambda: _repeats_its_text(preparation, entry), "its act, person, time or key differs from its text"),
    )
    return next((what for holds, what in checks if not holds()), "")


def _is_badge_of(person: Person, badge: object) -> bool:
    """Say whether the person has that badge, or had it before they got another."""
    return badge == person.badge or person.former_badges.filter(badge=badge).exists()


def _repeats_its_text(preparation: Preparation, entry: Entry) -> bool:
    try:
        written = json.loads(entry.text)
    except ValueError:
        return False
    if not (isinstance(written, dict) and entry.at):
        return False
    return _is_badge_of(entry.person, written.get("badge")) and (
        written.get("preparation"),
        written.get("number"),
        written.get("act"),
        written.get("at"),
        written.get("key"),
    ) == (
        preparation.code,
        entry.number,
        entry.act,
        entry.at.astimezone(UTC).isoformat(),
        entry.key,
    )
