"""Paper: what the compounding record prints, and the lines of a label to be compared."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from django.utils.safestring import SafeString

from checklists import labelled
from checklists.audit import first_fault
from checklists.counting import live_units
from checklists.gate import reasons_given
from checklists.method.mishaps import MISHAPS
from checklists.models import Preparation
from checklists.worklists.checker_screens import AmountRow, PhotographView
from checklists.worklists.from_paper import OnPaper
from checklists.worklists.order_view import OrderView
from checklists.worklists.origins import OriginView
from checklists.worklists.particulars import Particulars
from checklists.worklists.screens import BatchView, Identity
from checklists.worklists.waste import WasteLine
from checklists.worklists.words import step_name
from compounding.reckoning.quantities import of, write
from compounding.reckoning.worksheet import Worksheet, from_plain


@dataclass(frozen=True)
class StepLine:
    """A step as the record prints it."""

    number: int
    name: str
    by: str
    started_at: datetime | None
    finished_at: datetime | None
    reason: str


@dataclass(frozen=True)
class CautionLine:
    """A caution as the record prints it: the reason, who gave it and when; empty before the first check."""

    text: str
    reason: str
    by: str
    at: datetime | None


@dataclass(frozen=True)
class EntryLine:
    """An entry as the record prints it."""

    number: int
    act: str
    by: str
    at: datetime
    facts: str
    digest: str


@dataclass(frozen=True)
class MishapLine:
    """What went wrong, as the record prints it: in words, what followed, and what was lost with it."""

    words: str
    about: str
    consequence: str
    waste: str
    by: str
    at: datetime


@dataclass(frozen=True)
class RecordPaper:
    """The compounding record of one preparation."""

    identity: Identity
    state: str
    order: OrderView
    worksheet: Worksheet
    beyond_use_at: datetime
    cautions: tuple[CautionLine, ...]
    particulars: Particulars
    origins: tuple[OriginView, ...]
    rows: tuple[AmountRow, ...]
    batch: BatchView | None
    mishaps: tuple[MishapLine, ...]
    waste: tuple[WasteLine, ...]
    on_paper: OnPaper | None
    photographs: tuple[PhotographView, ...]
    steps: tuple[StepLine, ...]
    entries: tuple[EntryLine, ...]
    fault: str
    square: SafeString


def label_texts(preparation: Preparation) -> tuple[str, ...]:
    """Return the lines of the first label that goes on, to be compared with what is on it."""
    worksheet = from_plain(preparation.worksheet)
    first = live_units(preparation, worksheet)[0]
    return tuple(line.text for line in labelled.text_of(preparation, worksheet, first).lines)


def step_lines(preparation: Preparation) -> tuple[StepLine, ...]:
    """Return every step with who finished it and when."""
    steps = preparation.steps.select_related("finished_by")
    return tuple(
        StepLine(
            number=number,
            name=step_name(step),
            by=step.finished_by.name if step.finished_by else "",
            started_at=step.started_at,
            finished_at=step.finished_at,
            reason=step.reason,
        )
        for number, step in enumerate(steps, 1)
    )


def caution_lines(preparation: Preparation, worksheet: Worksheet) -> tuple[CautionLine, ...]:
    """Return every caution with the reason that a pharmacist gave for it."""
    given = reasons_given(preparation)
    return tuple(
        CautionLine(caution.text, given.reasons.get(caution.code, ""), given.by, given.at)
        for caution in worksheet.cautions
    )


def mishap_lines(preparation: Preparation) -> tuple[MishapLine, ...]:
    """Return everything that went wrong, with what was lost."""
    return tuple(
        MishapLine(
            words=MISHAPS[one.code].words if one.code in MISHAPS else one.code,
            about=f"syringe {one.about}" if one.about.isdecimal() else one.about,
            consequence=one.consequence,
            waste=", ".join(f"{write(of(w.volume_ml, 'mL'), 2)} of {w.container}" for w in one.waste.all()),
            by=one.person.name,
            at=one.at,
        )
        for one in preparation.mishaps.select_related("person").prefetch_related("waste")
    )


def entry_lines(preparation: Preparation) -> tuple[EntryLine, ...]:
    """Return every entry; the long ones (the worksheet itself) only by their digest."""
    return tuple(
        EntryLine(
            number=entry.number,
            act=entry.act,
            by=entry.person.name,
            at=entry.at,
            facts=_facts(entry.text),
            digest=entry.digest[:12],
        )
        for entry in preparation.entries.select_related("person")
    )


#: Facts that a reader of the paper finds elsewhere on it, or has no use for.
NOT_PRINTED = ("worksheet", "steps", "place", "fingerprints", "about")


def _facts(text: str) -> str:
    facts = json.loads(text)["facts"]
    written = ((name, _plain(value)) for name, value in facts.items() if name not in NOT_PRINTED)
    return "; ".join(f"{name.replace('_', ' ')} {value}" for name, value in written if value)


def _plain(value: object) -> str:
    """Write a fact for a reader: lists joined, yes and no in words."""
    if isinstance(value, list):
        return ", ".join(map(_plain, value))
    if isinstance(value, dict):
        return ", ".join(f"{name}: {_plain(one)}" for name, one in value.items())
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value).replace("_", " ")


def broken(preparation: Preparation) -> str:
    """Return what is wrong with the chain, empty when it is as it was written."""
    fault = first_fault(preparation)
    return f"Entry {fault.number}: {fault.what}" if fault else ""
