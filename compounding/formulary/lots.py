"""Lots: received by scan or from a file, held back, freed, recalled. A recalled lot never comes back.

The shelf itself only: what a recall does to work under way is the run's (`checklists.run.stock`).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from compounding.formulary import gs1, scanning
from compounding.formulary.gs1 import ProductScan
from compounding.formulary.models import Lot, LotChange, Product
from compounding.formulary.models.products import LotState
from compounding.formulary.refusals import (
    ExpiryDiffers,
    FileRefused,
    FileTooLong,
    LotExpired,
    LotHereAlready,
    LotStateStands,
    NothingInFile,
    UnknownProduct,
)
from compounding.reckoning.refusals import Refusal

MOST_LINES = 500
LONGEST_NAME = 80

#: What a lot in each state may become.
NEXT: dict[str, tuple[LotState, ...]] = {
    LotState.AVAILABLE: (LotState.QUARANTINED, LotState.RECALLED),
    LotState.QUARANTINED: (LotState.AVAILABLE, LotState.RECALLED),
    LotState.RECALLED: (),
}


@dataclass(frozen=True)
class Act:
    """Who acts on a lot, when, and the key that it is done once by."""

    by: str
    at: datetime
    key: str


@dataclass(frozen=True)
class Received:
    """What a file brought: the lots that are new, and how many were here already."""

    new: tuple[Lot, ...]
    here_already: int


def receive(text: str, act: Act) -> Lot:
    """Take in the lot that a scan names; once for its key. What comes in may be used at once.

    Refuses what scanning refuses, UnknownProduct, LotHereAlready, ExpiryDiffers, LotExpired.
    """
    with transaction.atomic():
        done = LotChange.objects.filter(key=act.key).select_related("lot").first()
        if done:
            return done.lot
        scan = scanning.read_product(text)
        product, here = _found(scan)
        if here:
            raise LotHereAlready(
                lot=here.number, product=product.name, state=here.get_state_display().lower()
            )
        return _put_down(scan, product, act)


def receive_file(text: str, act: Act) -> Received:
    """Take in every line of a file, or none: each is a code as scanned, or `product number, lot, expiry`.

    A lot that is here already, with the same expiry, is passed over. Refuses FileRefused with the line.
    """
    lines = [line.strip() for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    if not lines:
        raise NothingInFile()
    if len(lines) > MOST_LINES:
        raise FileTooLong(most=str(MOST_LINES))
    with transaction.atomic():
        taken = [_taken(number, line, act) for number, line in enumerate(lines, 1)]
    new = tuple(lot for lot in taken if lot)
    return Received(new, len(taken) - len(new))


def change(lot: Lot, to: str, reason: str, act: Act) -> bool:
    """Hold a lot back, free it or recall it; say whether this key did so now. Refuses LotStateStands."""
    with transaction.atomic():
        locked = Lot.objects.select_for_update().select_related(None).get(pk=lot.pk)
        if LotChange.objects.filter(key=act.key).exists():
            return False
        if to not in NEXT[locked.state]:
            name = locked.product.name
            raise LotStateStands(lot=lot.number, product=name, state=locked.get_state_display().lower())
        locked.state = LotState(to)
        locked.save(update_fields=["state"])
        _note(locked, reason, act)
        return True


def _found(scan: ProductScan) -> tuple[Product, Lot | None]:
    product = Product.objects.filter(gtin=scan.gtin).first()
    if product is None:
        raise UnknownProduct(gtin=scan.gtin)
    return product, product.lots.filter(number=scan.lot).first()


def _put_down(scan: ProductScan, product: Product, act: Act) -> Lot:
    lot = Lot(
        product=product,
        number=scan.lot,
        expires_on=scan.expires_on,
        received_on=timezone.localdate(act.at),
    )
    if not lot.is_in_date(act.at):
        raise LotExpired(lot=lot.number, product=product.name, expired=scanning.day_written(lot.expires_on))
    lot.save()
    _note(lot, "", act)
    return lot


def _note(lot: Lot, reason: str, act: Act) -> None:
    LotChange.objects.create(
        lot=lot, state=lot.state, reason=reason, by=act.by[:LONGEST_NAME], at=act.at, key=act.key
    )


def _taken(number: int, line: str, act: Act) -> Lot | None:
    """Take one line of a file; None for a lot that is here already. Refuses FileRefused, naming the line."""
    try:
        scan = _scan_of(line)
        product, here = _found(scan)
        if here is None:
            return _put_down(scan, product, Act(act.by, act.at, f"{act.key}/{number}"))
        if here.expires_on != scan.expires_on:
            days = [scanning.day_written(one.expires_on) for one in (scan, here)]
            raise ExpiryDiffers(lot=here.number, product=product.name, scanned=days[0], on_file=days[1])
    except Refusal as refusal:
        raise FileRefused(row=f"Line {number}", why=refusal.sentence) from refusal
    return None


def _scan_of(line: str) -> ProductScan:
    fields = [field.strip() for field in line.split(",")]
    if len(fields) != 3:
        return scanning.read_product(line)
    gtin, lot, expiry = fields
    try:
        expires_on = date.fromisoformat(expiry)
    except ValueError:
        expires_on = None
    if expires_on is None:
        return scanning.read_product(f"(01){gtin}(17){expiry}(10){lot}")
    return scanning.read_product(gs1.written(gtin, lot, expires_on))
