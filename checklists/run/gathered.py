"""One container at the gathering step: what was scanned, and every reason why it is not taken.

New containers carry the maker's code; an opened one that may serve again carries our own. A container that
serves one preparation only is never taken for a second (ISMP and USP <797> 2023, memory). A powder that was
dissolved for another is taken where the site lets it, and that preparation's record vouches for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from checklists.dissolved import serves_again
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
from checklists.run import sharing
from checklists.run.bench import Bench
from checklists.run.opened import moment
from compounding.formulary import codes, scanning
from compounding.formulary.codes import OwnCode
from compounding.formulary.gs1 import ProductScan
from compounding.formulary.models import Lot, Product
from compounding.formulary.refusals import NotAProductScan
from compounding.reckoning.quantities import number_in, of, write
from compounding.reckoning.worksheet import Container, ContainerKind

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
    if found.serial and here.filter(serial=found.serial).exists():
        raise SameContainerTwice(serial=found.serial)
    if found.serial or found.opened:
        _refuse_held(bench, found)
    elif here.filter(serial="", at__gt=bench.now - MOMENT).exists():
        raise ScannedAMomentAgo()


def _refuse_held(bench: Bench, found: Scanned) -> None:
    """Refuse a container that stands at other work; one opened there is judged by itself."""
    held = Material.objects.filter(lot=found.lot, serial=found.serial, preparation__state__in=WORKING)
    if found.opened:
        held = found.opened.taken_again.filter(preparation__state__in=WORKING)
    other = held.exclude(preparation=bench.preparation).select_related("preparation").first()
    if other:
        serial = found.serial or codes.grouped(found.opened.code if found.opened else "")
        raise HeldByAnother(serial=serial, code=codes.grouped(other.preparation.code))


def _refuse_opened(bench: Bench, wanted: Container, opened: OpenedContainer) -> None:
    name = opened.lot.product.name
    if opened.discarded_at:
        raise ContainerDiscarded(product=name, discarded=moment(opened.discarded_at))
    _refuse_unshared(bench, wanted, opened)
    if bench.now >= opened.use_ends_at:
        raise OpenedTooLong(product=name, opened=moment(opened.opened_at), ended=moment(opened.use_ends_at))
    needed = drawn_from(bench, wanted.key)
    if opened.left_ml < needed:
        left, asked = write(of(opened.left_ml, "mL")), write(of(needed, "mL"))
        raise NotEnoughLeft(product=name, left=left, wanted=asked)


def _refuse_unshared(bench: Bench, wanted: Container, opened: OpenedContainer) -> None:
    """Refuse what serves one preparation only; a powder serves again only in the worksheet's own place."""
    is_powder = wanted.kind is ContainerKind.POWDER_VIAL
    if not serves_again(opened, bench.worksheet, bench.policy) or (is_powder and _is_further(bench)):
        raise UsedForAnother(product=opened.lot.product.name, code=codes.grouped(opened.opened_for.code))
    if is_powder:
        sharing.refuse_unfit(bench, wanted.key, opened)


def _is_further(bench: Bench) -> bool:
    """Say whether the container takes another's place: steps for its diluent are put in already."""
    return bool(bench.step and bench.step.about.get("like"))


def drawn_from(bench: Bench, key: str) -> Decimal:
    """Return how much the whole worksheet draws from a container, in mL."""
    portions = [portion for draw in bench.worksheet.draws for portion in draw.sources]
    return sum((number_in(one.volume, "mL") for one in portions if one.container == key), Decimal(0))
