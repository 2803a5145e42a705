"""The compounding record, put together from the order, the worksheet, the acts and the amounts."""

from __future__ import annotations

from dataclasses import dataclass

from checklists.models import Person, Preparation
from checklists.worklists import photographs, readers, waste
from checklists.worklists.batches import batch_view
from checklists.worklists.compared import rows_of
from checklists.worklists.from_paper import on_paper
from checklists.worklists.identity import identity
from checklists.worklists.order_view import order_view
from checklists.worklists.origins import origins
from checklists.worklists.papers import (
    RecordPaper,
    broken,
    caution_lines,
    entry_lines,
    mishap_lines,
    step_lines,
)
from checklists.worklists.particulars import particulars
from checklists.worklists.screens import Identity
from checklists.worklists.squares import square
from compounding.reckoning.worksheet import from_plain


def record(preparation: Preparation, person: Person | None = None) -> RecordPaper:
    """Return the record of a preparation; for a reader, with the photographs that they may see."""
    worksheet = from_plain(preparation.worksheet)
    return RecordPaper(
        identity=identity(preparation, worksheet),
        state=preparation.get_state_display(),
        order=order_view(preparation.order),
        worksheet=worksheet,
        beyond_use_at=preparation.beyond_use_at,
        cautions=caution_lines(preparation, worksheet),
        particulars=particulars(preparation),
        origins=origins(preparation, worksheet),
        rows=rows_of(preparation),
        batch=batch_view(preparation, worksheet),
        mishaps=mishap_lines(preparation),
        waste=waste.lines(preparation),
        on_paper=on_paper(preparation),
        photographs=photographs.of_record(
            preparation, lambda one: person is None or readers.may_see(preparation, one, person)
        ),
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
