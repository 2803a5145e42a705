"""Sheets of labels: of the units, of syringes drawn from ampoules, of the bin, of an opened container."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from checklists import labelled
from checklists.counting import live_units, rejected_units
from checklists.models import Label, OpenedContainer, Preparation
from checklists.worklists.squares import square
from compounding.formulary import codes
from compounding.reckoning.labelling import (
    BinFacts,
    LabelText,
    OpenedFacts,
    ampoule_draws,
    bin_lines,
    opened_lines,
    syringe_lines,
)
from compounding.reckoning.worksheet import Worksheet, from_plain

#: The label stocks that css/label.css knows, as an address names them and as a person reads them.
SIZES = {"100x50": "100 × 50 mm", "70x40": "70 × 40 mm", "50x25": "50 × 25 mm"}
LARGEST, SMALLEST = "100x50", "50x25"
UNITS, SYRINGES, BIN = "units", "syringes", "bin"
KINDS = {UNITS: _("Units"), SYRINGES: _("Drawn syringes"), BIN: _("Bin")}


@dataclass(frozen=True)
class PrintedLabel:
    """One label: its lines, its own code, and the square that holds it. Only a unit's prints are counted."""

    text: LabelText
    code: str
    square: SafeString
    print_number: int = 0


@dataclass(frozen=True)
class LabelSheet:
    """Labels of one kind on stock of one size. `kinds` are the others that the preparation has."""

    code: str
    back_url: str
    labels: tuple[PrintedLabel, ...]
    kind: str
    kinds: tuple[tuple[str, str], ...]
    size: str
    sizes: tuple[tuple[str, str], ...] = tuple(SIZES.items())
    unit: str = ""


def label_sheet(preparation: Preparation, size: str = "", kind: str = "", unit: str = "") -> LabelSheet:
    """Return the labels of that kind, on the stock of that size or the usual one.

    Of the units it is the last print of each, or of the one named.
    """
    worksheet = from_plain(preparation.worksheet)
    kinds = [one for one in KINDS if _HAS[one](worksheet)]
    chosen = kind if kind in kinds and not unit else UNITS
    return LabelSheet(
        code=codes.grouped(preparation.code),
        back_url=reverse("step", args=[preparation.code]),
        labels=_units(preparation, worksheet, unit) if unit else _MADE[chosen](preparation, worksheet),
        kind=chosen,
        kinds=tuple((one, str(KINDS[one])) for one in kinds) if len(kinds) > 1 else (),
        unit=unit,
        size=size if size in SIZES else LARGEST,
    )


def opened_sheet(code: str, size: str = "") -> LabelSheet | None:
    """Return the label of one opened container, None where there is none of that code."""
    found = OpenedContainer.objects.select_related("lot__product", "opened_by").filter(code=code).first()
    if found is None:
        return None
    return LabelSheet(
        code=codes.grouped(code),
        back_url=reverse("opened"),
        labels=(_opened(found),),
        kind="",
        kinds=(),
        size=size if size in SIZES else SMALLEST,
    )


def _units(preparation: Preparation, worksheet: Worksheet, only: str = "") -> tuple[PrintedLabel, ...]:
    last = {label.unit: label for label in preparation.labels.order_by("print_number")}
    live = sorted(set(last) - rejected_units(preparation))
    return tuple(_unit(preparation, worksheet, last[unit]) for unit in live if only in ("", str(unit)))


def _unit(preparation: Preparation, worksheet: Worksheet, label: Label) -> PrintedLabel:
    return PrintedLabel(
        text=labelled.as_printed(label, labelled.text_of(preparation, worksheet, label.unit)),
        code=codes.grouped(label.code),
        square=square(label.code),
        print_number=label.print_number,
    )


def _syringes(preparation: Preparation, worksheet: Worksheet) -> tuple[PrintedLabel, ...]:
    texts = (
        syringe_lines(worksheet, number, codes.grouped(preparation.code))
        for number in ampoule_draws(worksheet)
    )
    return tuple(_of_preparation(preparation, text) for text in texts)


def _bin(preparation: Preparation, worksheet: Worksheet) -> tuple[PrintedLabel, ...]:
    facts = BinFacts(
        count=len(live_units(preparation, worksheet)),
        where=preparation.order.ward,
        code=codes.grouped(preparation.code),
        ends_at=preparation.beyond_use_at.isoformat(),
        zone=timezone.get_default_timezone(),
    )
    return (_of_preparation(preparation, bin_lines(worksheet, facts)),)


def _of_preparation(preparation: Preparation, text: LabelText) -> PrintedLabel:
    return PrintedLabel(text, codes.grouped(preparation.code), square(preparation.code))


def _opened(container: OpenedContainer) -> PrintedLabel:
    product = container.lot.product
    facts = OpenedFacts(
        product=product.name,
        strength=product.reconstitution_strength,
        lot=container.lot.number,
        opened_at=container.opened_at.isoformat(),
        ends_at=container.use_ends_at.isoformat(),
        by=container.opened_by.name,
        zone=timezone.get_default_timezone(),
    )
    return PrintedLabel(opened_lines(facts), codes.grouped(container.code), square(container.code))


_HAS: dict[str, Callable[[Worksheet], bool]] = {
    UNITS: lambda worksheet: True,
    SYRINGES: lambda worksheet: bool(ampoule_draws(worksheet)),
    BIN: lambda worksheet: worksheet.units > 1,
}
_MADE: dict[str, Callable[[Preparation, Worksheet], tuple[PrintedLabel, ...]]] = {
    UNITS: _units,
    SYRINGES: _syringes,
    BIN: _bin,
}
