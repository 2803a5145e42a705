"""The codes of what stands on the shelf and of the hoods, as a sheet to print."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from checklists.models import Hood
from checklists.worklists.squares import square
from compounding.formulary import codes
from compounding.formulary.models import Lot


@dataclass(frozen=True)
class ShelfCode:
    """One code: what it stands on, the text a scanner reads, the square that holds it."""

    name: str
    note: str
    text: str
    square: SafeString


@dataclass(frozen=True)
class ShelfSheet:
    """Every lot in stock and every hood."""

    lots: tuple[ShelfCode, ...]
    hoods: tuple[ShelfCode, ...]


def shelf() -> ShelfSheet:
    """Return the sheet."""
    lots = Lot.objects.select_related("product").order_by("product__name", "expires_on", "number")
    return ShelfSheet(
        lots=tuple(_lot(lot) for lot in lots),
        hoods=tuple(
            ShelfCode(hood.name, hood.get_airflow_display(), codes.grouped(hood.code), square(hood.code))
            for hood in Hood.objects.order_by("name")
        ),
    )


def done_card() -> ShelfCode:
    """Return the card that is held under a fixed scanner instead of pressing a pedal."""
    code = codes.done_card()
    return ShelfCode(_("Done"), _("Hold it under the scanner"), codes.grouped(code), square(code))


def _lot(lot: Lot) -> ShelfCode:
    text = f"(01){lot.product.gtin}(17){lot.expires_on:%y%m%d}(10){lot.number}"
    return ShelfCode(lot.product.name, f"lot {lot.number}, {lot.get_state_display()}", text, square(text))
