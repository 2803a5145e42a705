"""The one place that decides what a scanned or typed text is, and whether a container may be used."""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone

from compounding.formulary import codes, gs1
from compounding.formulary.codes import OwnCode
from compounding.formulary.gs1 import SEPARATOR, ProductScan, shown
from compounding.formulary.models import Lot, Product
from compounding.formulary.models.products import LotState
from compounding.formulary.refusals import (
    DoneCardScanned,
    EquivalentProduct,
    ExpiryDiffers,
    LookAlike,
    LotExpired,
    LotQuarantined,
    LotRecalled,
    NotAProductScan,
    NothingScanned,
    OtherCodeWanted,
    SeparatorLost,
    UnknownLot,
    WrongProduct,
    WrongStrength,
)
from compounding.reckoning.tall_man import look_alike

LONGEST = 120
AS_TYPED = str.maketrans({"␝": SEPARATOR, "\r": None, "\n": None, "\t": None})


def read(text: str) -> ProductScan | OwnCode:
    """Return what a text is. Refuses, each with its own sentence, whatever is neither."""
    plain = text[: LONGEST + 1].translate(AS_TYPED).strip(" ")
    if not plain.strip(SEPARATOR):
        raise NothingScanned()
    if len(text) > LONGEST or not _is_printable(plain):
        raise NotAProductScan(scanned=shown(plain))
    return codes.read(plain) if codes.looks_like_one(plain) else gs1.read(plain)


def read_product(text: str) -> ProductScan:
    """Return what a product's code says; refuses a code of ours too."""
    found = read(text)
    if isinstance(found, OwnCode):
        _refuse_done_card(found, "the code on the container")
        raise NotAProductScan(scanned=codes.grouped(found.code))
    return found


def read_own_code(text: str, letter: str) -> str:
    """Return a code of ours of the kind with that letter, without spaces; refuses any other text."""
    wanted = codes.NAMES[codes.Kind(letter)]
    found = read(text)
    if not isinstance(found, OwnCode):
        raise OtherCodeWanted(scanned="a product’s code", wanted=wanted)
    _refuse_done_card(found, wanted)
    if found.letter != letter:
        raise OtherCodeWanted(scanned=codes.NAMES[codes.Kind(found.letter)], wanted=wanted)
    return found.code


def _refuse_done_card(found: OwnCode, wanted: str) -> None:
    if found.letter == codes.Kind.DONE:
        raise DoneCardScanned(wanted=wanted)


def _is_printable(text: str) -> bool:
    return all(" " <= character <= "~" or character == SEPARATOR for character in text)


def match_lot(scan: ProductScan, wanted: Product, at: datetime | None = None) -> Lot:
    """Return the lot that was scanned, if it is the wanted product's and may be used at that moment (now).

    Refuses WrongProduct and its kinds, UnknownLot, SeparatorLost, LotRecalled, LotQuarantined, ExpiryDiffers,
    LotExpired.
    """
    if scan.gtin != wanted.gtin:
        raise _other(scan.gtin, wanted)
    lot = wanted.lots.filter(number=scan.lot).first()
    if lot is None:
        raise _unknown(scan, wanted)
    _refuse_state(lot)
    _refuse_expiry(scan, lot, at or timezone.now())
    return lot


def _other(gtin: str, wanted: Product) -> WrongProduct:
    """Return why another product is not taken: the same drug otherwise, a look-alike, or simply another."""
    found = Product.objects.select_related("substance").filter(gtin=gtin).first()
    if found is None:
        name = f"a product that is not in the formulary (number {gtin})"
        return WrongProduct(scanned=name, wanted=str(wanted))
    return _why_not(found, wanted)(scanned=str(found), wanted=str(wanted))


def _why_not(found: Product, wanted: Product) -> type[WrongProduct]:
    if found.substance is None or wanted.substance is None:
        return WrongProduct
    if found.substance == wanted.substance:
        return EquivalentProduct if _is_alike(found, wanted) else WrongStrength
    is_like = look_alike(found.substance.name, wanted.substance.name)
    return LookAlike if is_like else WrongProduct


def _is_alike(one: Product, other: Product) -> bool:
    """Say whether two products of one drug hold the same in the same: only their makers differ."""
    return all(
        getattr(one, name) == getattr(other, name) for name in ("kind", "content", "volume", "strength")
    )


def _unknown(scan: ProductScan, wanted: Product) -> UnknownLot | SeparatorLost:
    """Return the reason; a known lot with `21` behind it is a serial number that ran on."""
    numbers = wanted.lots.values_list("number", flat=True)
    if any(scan.lot.startswith((f"{number}21", f"{number}17")) for number in numbers):
        return SeparatorLost(run_on=scan.lot)
    return UnknownLot(lot=scan.lot, product=wanted.name)


def _refuse_state(lot: Lot) -> None:
    if lot.state == LotState.RECALLED:
        raise LotRecalled(lot=lot.number, product=lot.product.name)
    if lot.state == LotState.QUARANTINED:
        raise LotQuarantined(lot=lot.number, product=lot.product.name)


def _refuse_expiry(scan: ProductScan, lot: Lot, at: datetime) -> None:
    facts = {"lot": lot.number, "product": lot.product.name}
    if scan.expires_on != lot.expires_on:
        raise ExpiryDiffers(
            **facts, scanned=day_written(scan.expires_on), on_file=day_written(lot.expires_on)
        )
    if not lot.is_in_date(at):
        raise LotExpired(**facts, expired=day_written(lot.expires_on))


def day_written(day: date) -> str:
    """Return a day as a sentence writes it: `4 Mar 2027`."""
    return f"{day.day} {day:%b %Y}"
