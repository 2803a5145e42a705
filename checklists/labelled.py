"""The words on a label: composed from the frozen worksheet, kept as printed, compared when scanned back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format

from checklists.models import Label, Preparation
from compounding.formulary import codes
from compounding.reckoning.labelling import LabelFacts, LabelLine, LabelText, label_lines
from compounding.reckoning.worksheet import Worksheet


@dataclass(frozen=True)
class Difference:
    """A line that stands otherwise on the label than the worksheet has it."""

    printed: str
    wanted: str


def text_of(preparation: Preparation, worksheet: Worksheet, unit: int) -> LabelText:
    """Return the label of one unit, with the beyond-use time that its containers have left it."""
    order = preparation.order
    named = [("No.", order.patient_identifier), ("Born", date_format(order.born_on) if order.born_on else "")]
    dated = replace(worksheet, beyond_use_at=preparation.beyond_use_at.isoformat())
    facts = LabelFacts(
        patient=order.patient_name,
        identifiers=tuple(pair for pair in named if pair[1]) if order.patient_name else (),
        route=order.route,
        rate=order.formulation.rate,
        code=codes.grouped(preparation.code),
        serial=unit,
        of=worksheet.units,
        zone=timezone.get_default_timezone(),
    )
    return label_lines(dated, facts)


def plain(text: LabelText) -> list[dict[str, Any]]:
    """Return a label's lines as they are kept."""
    return [asdict(line) for line in text.lines]


def as_printed(label: Label, composed: LabelText) -> LabelText:
    """Return what was printed on a label; of one printed before that was kept, what is composed now."""
    return LabelText(tuple(LabelLine(**line) for line in label.words)) if label.words else composed


def differences(label: Label, composed: LabelText) -> Iterator[Difference]:
    """Yield every line of a label that is not as the frozen worksheet and its order have it now."""
    printed = {line.place: line.text for line in as_printed(label, composed).lines}
    wanted = {line.place: line.text for line in composed.lines}
    for place in sorted(printed.keys() | wanted.keys()):
        if printed.get(place) != wanted.get(place):
            yield Difference(printed.get(place, ""), wanted.get(place, ""))
