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
    ExpiryDiffers,
    LotExpired,
    LotQuarantined,
    LotRecalled,
    NotAProductScan,
    NothingScanned,
    OtherCodeWanted,
    SeparatorLost,
    UnknownLot,
    WrongProduct,
)

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

    Refuses WrongProduct, UnknownLot, SeparatorLost, LotRecalled, LotQuarantined, ExpiryDiffers, LotExpired.
    """
    if scan.gtin != wanted.gtin:
        raise WrongProduct(scanned=_named(scan.gtin), wanted=str(wanted))
    lot = wanted.lots.filter(number=scan.lot).first()
    if lot is None:
        raise _unknown(scan, wanted)
    _refuse_state(lot)
    _refuse_expiry(scan, lot, at or timezone.now())
    return lot


def _named(gtin: str) -> str:
    product = Product.objects.filter(gtin=gtin).first()
    return str(product) if product else f"a product that is not in the formulary (number {gtin})"


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
        raise ExpiryDiffers(**facts, scanned=_day(scan.expires_on), on_file=_day(lot.expires_on))
    if not lot.is_in_date(at):
        raise LotExpired(**facts, expired=_day(lot.expires_on))


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
