"""Vials that were dissolved for another preparation: where, by whom, and the amounts that agreed there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from checklists.agreeing import Amounts
from checklists.dissolved import Vial, vials
from checklists.models import Preparation
from checklists.vouching import faults
from compounding.formulary import codes
from compounding.reckoning.quantities import of, write
from compounding.reckoning.worksheet import Worksheet


@dataclass(frozen=True)
class OriginAmount:
    """One syringe of the diluent, as it was drawn and seen there."""

    of_what: str
    required: str
    drawn: str
    drawn_by: str
    seen: str
    seen_by: str
    agree: bool


@dataclass(frozen=True)
class OriginView:
    """One vial: its place here, the preparation that dissolved it, and why that does not count."""

    key: str
    vial: str
    code: str
    opened_at: datetime
    use_ends_at: datetime
    amounts: tuple[OriginAmount, ...]
    faults: tuple[str, ...]


def origins(preparation: Preparation, worksheet: Worksheet) -> tuple[OriginView, ...]:
    """Return every vial of a preparation that was dissolved for another, as that one's record stands now."""
    return tuple(
        OriginView(
            key=vial.key,
            vial=codes.grouped(vial.opened.code),
            code=codes.grouped(vial.there.code),
            opened_at=vial.opened.opened_at,
            use_ends_at=vial.opened.use_ends_at,
            amounts=tuple(_amount(vial, one) for one in vial.amounts),
            faults=tuple(faults(vial)),
        )
        for vial in vials(preparation, worksheet)
    )


def _amount(vial: Vial, one: Amounts) -> OriginAmount:
    return OriginAmount(
        of_what=vial.worksheet_there.transfer_of(one.draw.number).of_what,
        required=write(one.draw.target),
        drawn=write(of(one.reading.volume_ml, "mL")) if one.reading else "–",
        drawn_by=one.reading.person.name if one.reading else "",
        seen=write(of(one.sighting.volume_ml, "mL")) if one.sighting else "–",
        seen_by=one.sighting.person.name if one.sighting else "",
        agree=one.agree,
    )
