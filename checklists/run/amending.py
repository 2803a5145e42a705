"""Amending: what an entry says wrongly is set right by a new entry; the old one stays readable."""

from __future__ import annotations

from checklists.models import Person
from checklists.refusals import NoSuchEntry, WrongRole
from checklists.run.bench import Bench, act
from checklists.run.pins import TriedPin
from checklists.run.signing import AMENDS, refuse_wrong_pin
from checklists.run.typed import reason_typed

MAY_AMEND = (Person.Role.PHARMACIST, Person.Role.SUPERVISOR)


@act
def amend(bench: Bench, *, entry: int, words: str, pin: TriedPin) -> None:
    """Add what is to be read beside an entry, signed. Nothing that was entered is changed."""
    if bench.person.role not in MAY_AMEND:
        raise WrongRole(role=bench.person.role, wanted="pharmacist or supervisor")
    if not bench.preparation.entries.filter(number=entry).exists():
        raise NoSuchEntry(number=str(entry))
    written = reason_typed(words)
    refuse_wrong_pin(pin)
    bench.write("amend", entry=entry, words=written, meaning=AMENDS)
