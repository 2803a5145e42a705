"""One container at the gathering step: what was scanned, and every reason why it is not taken.

New containers carry the maker's code; an opened one that may serve again carries our own. A container that
serves one preparation only is never taken for a second (ISMP and USP <797> 2023, memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from checklists.models import Material, OpenedContainer, Preparation
from checklists.refusals import (
    ContainerDiscarded,
    HeldByAnother,
    NoSuchContainer,
    NotEnoughLeft,
    OpenedTooLong,
    SameContainerTwice,
    ScannedAMomentAgo,
    UsedForAnother,
)
from checklists.run.bench import Bench
from compounding.formulary import codes, scanning
from compounding.formulary.codes import OwnCode
from compounding.formulary.gs1 import ProductScan
from compounding.formulary.models import Lot, Product
from compounding.formulary.refusals import NotAProductScan
from compounding.reckoning.quantities import number_in, of, write
from compounding.reckoning.worksheet import Container

#: A code without a serial number, read twice within this time, is one container (site habit, no source).
MOMENT = timedelta(seconds=2)
WORKING = (Preparation.State.IN_WORK, Preparation.State.PAUSED)


@dataclass(frozen=True)
class Scanned:
    """The container before the scanner: its lot, its serial number if it has one, and whether it is open."""

    lot: Lot
    serial: str
    opened: OpenedContainer | None


def scanned(bench: Bench, wanted: Container, text: str) -> Scanned:
    """Return the container that was scanned, if it may be taken for the wanted one.

    Refuses what scanning refuses, and whatever stands in `checklists.refusals.scans` about containers.
    """
    found = _found(text, Product.objects.get(gtin=wanted.product), bench.now)
    _refuse_second_scan(bench, found)
    if found.opened:
        _refuse_opened(bench, wanted, found.opened)
    return found


def _found(text: str, product: Product, at: datetime) -> Scanned:
    read = scanning.read(text)
    if isinstance(read, OwnCode):
        return _opened_before(_of_code(read), product, at)
    lot = scanning.match_lot(read, product, at)
    opened = lot.opened.filter(serial=read.serial).first() if read.serial else None
    return Scanned(lot, read.serial, opened)


def _opened_before(opened: OpenedContainer, product: Product, at: datetime) -> Scanned:
    """Look at an opened container as if its maker's code had been scanned: product and lot must fit."""
    lot = opened.lot
    as_made = ProductScan(lot.product.gtin, lot.number, lot.expires_on, opened.serial, opened.code)
    return Scanned(scanning.match_lot(as_made, product, at), opened.serial, opened)


def _of_code(read: OwnCode) -> OpenedContainer:
    if read.letter != codes.Kind.CONTAINER:
        raise NotAProductScan(scanned=codes.grouped(read.code))
    opened = OpenedContainer.objects.select_related("lot__product").filter(code=read.code).first()
    if opened is None:
        raise NoSuchContainer(code=codes.grouped(read.code))
    return opened


def _refuse_second_scan(bench: Bench, found: Scanned) -> None:
    here = bench.preparation.materials.filter(lot=found.lot)
    if found.opened and here.filter(opened=found.opened).exists():
        raise SameContainerTwice(serial=found.serial or codes.grouped(found.opened.code))
    if found.serial:
        if here.filter(serial=found.serial).exists():
            raise SameContainerTwice(serial=found.serial)
        _refuse_held(bench, found)
    elif found.opened is None and here.filter(serial="", at__gt=bench.now - MOMENT).exists():
        raise ScannedAMomentAgo()


def _refuse_held(bench: Bench, found: Scanned) -> None:
    held = Material.objects.filter(lot=found.lot, serial=found.serial, preparation__state__in=WORKING)
    other = held.exclude(preparation=bench.preparation).select_related("preparation").first()
    if other and found.opened is None:
        raise HeldByAnother(serial=found.serial, code=codes.grouped(other.preparation.code))


def _refuse_opened(bench: Bench, wanted: Container, opened: OpenedContainer) -> None:
    name = opened.lot.product.name
    if opened.discarded_at:
        raise ContainerDiscarded(product=name, discarded=_moment(opened.discarded_at))
    if not opened.lot.product.is_multi_dose:
        raise UsedForAnother(product=name, code=codes.grouped(opened.opened_for.code))
    if bench.now >= opened.use_ends_at:
        raise OpenedTooLong(product=name, opened=_moment(opened.opened_at), ended=_moment(opened.use_ends_at))
    needed = drawn_from(bench, wanted.key)
    if opened.left_ml < needed:
        left, asked = write(of(opened.left_ml, "mL")), write(of(needed, "mL"))
        raise NotEnoughLeft(product=name, left=left, wanted=asked)


def drawn_from(bench: Bench, key: str) -> Decimal:
    """Return how much the whole worksheet draws from a container, in mL."""
    portions = [portion for draw in bench.worksheet.draws for portion in draw.sources]
    return sum((number_in(one.volume, "mL") for one in portions if one.container == key), Decimal(0))


def _moment(at: datetime) -> str:
    local = timezone.localtime(at)
    return f"{local.day} {local:%b %H:%M}"
