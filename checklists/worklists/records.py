"""The compounding record, put together from the order, the worksheet, the acts and the amounts."""

from __future__ import annotations

from dataclasses import dataclass

from checklists.models import Person, Preparation
from checklists.refusals import StillBlind
from checklists.worklists import photographs
from checklists.worklists.batches import batch_view
from checklists.worklists.checks import containers
from checklists.worklists.compared import rows_of
from checklists.worklists.identity import identity
from checklists.worklists.order_view import order_view
from checklists.worklists.papers import (
    RecordPaper,
    broken,
    caution_lines,
    entry_lines,
    mishap_lines,
    step_lines,
)
from checklists.worklists.screens import Identity
from checklists.worklists.squares import square
from compounding.reckoning.worksheet import from_plain

ENDED = (Preparation.State.RELEASED, Preparation.State.DISCARDED)


def record(preparation: Preparation) -> RecordPaper:
    """Return the record of a preparation."""
    worksheet = from_plain(preparation.worksheet)
    return RecordPaper(
        identity=identity(preparation, worksheet),
        state=preparation.get_state_display(),
        order=order_view(preparation.order),
        worksheet=worksheet,
        beyond_use_at=preparation.beyond_use_at,
        cautions=caution_lines(preparation, worksheet),
        containers=containers(preparation),
        rows=rows_of(preparation),
        batch=batch_view(preparation, worksheet),
        mishaps=mishap_lines(preparation),
        photographs=photographs.of_record(preparation),
        steps=step_lines(preparation),
        entries=entry_lines(preparation),
        fault=broken(preparation),
        square=square(preparation.code),
    )


@dataclass(frozen=True)
class Amending:
    """The form that sets an entry right."""

    identity: Identity
    entries: int
    key: str


def amending(preparation: Preparation, key: str) -> Amending:
    """Return the form for a preparation's record."""
    worksheet = from_plain(preparation.worksheet)
    return Amending(identity(preparation, worksheet), preparation.entries.count(), key)


def refuse_while_blind(preparation: Preparation, person: Person) -> None:
    """Keep papers that hold the amounts from a pharmacist who may still have to read a syringe blind.

    While a hold is open any syringe of it may have to be read again. While a draw is shown, the tablet
    that lies beside the checker does not show it either.
    """
    if preparation.state in ENDED:
        return
    unread = preparation.steps.filter(kind__in=("first_check", "show"), finished_at=None)
    held = preparation.holds.filter(resolved_at=None).exists()
    if person.role == Person.Role.PHARMACIST and (held or unread.exists()):
        raise StillBlind()
    if person.role == Person.Role.TECHNICIAN and unread.filter(kind="show").exclude(started_at=None).exists():
        raise StillBlind()
