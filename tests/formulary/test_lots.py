"""Lots received by scan and by file. The form of a code is GS1's (standards.md section 8)."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from compounding.formulary import lots
from compounding.formulary.lots import Act
from compounding.formulary.models import Lot, Product
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

pytestmark = pytest.mark.usefixtures("shelf")

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
EXPIRY = "(17)281130"


def act(key: str = "k") -> Act:
    return Act("Mara Okonjo", NOW, key)


@pytest.fixture
def gtin() -> str:
    product = Product.objects.filter(kind="powder-vial").first()
    assert product
    return product.gtin


def test_a_scan_brings_a_lot_in_once_for_its_key(gtin: str) -> None:
    text = f"]d201{gtin}1728113010NEW1\x1d21S7"
    lot = lots.receive(text, act())
    assert (lot.number, lot.expires_on, lot.state) == ("NEW1", date(2028, 11, 30), "available")
    assert lots.receive(text, act()) == lot
    assert [(one.state, one.by) for one in lot.changes.all()] == [("available", "Mara Okonjo")]
    with pytest.raises(LotHereAlready):
        lots.receive(text, act("another"))


def test_what_cannot_come_in(gtin: str) -> None:
    with pytest.raises(UnknownProduct):
        lots.receive(f"(01)02999999999991{EXPIRY}(10)X", act())
    with pytest.raises(LotExpired):
        lots.receive(f"(01){gtin}(17)251130(10)OLD", act())


def test_a_file_comes_in_whole_or_not_at_all(gtin: str) -> None:
    good = f"{gtin},FILE1,2028-11-30\r\n(01){gtin}{EXPIRY}(10)FILE2\n\n"
    before = Lot.objects.count()
    with pytest.raises(FileRefused, match="Line 3") as told:
        lots.receive_file(f"{good}{gtin},FILE3,30.11.2028", act())
    assert "not a date" in told.value.sentence
    assert Lot.objects.count() == before
    received = lots.receive_file(f"\ufeff{good}", act())
    assert [lot.number for lot in received.new] == ["FILE1", "FILE2"]
    again = lots.receive_file(good, act("again"))
    assert (again.new, again.here_already) == ((), 2)


def test_a_file_that_contradicts_what_is_here_or_is_none(gtin: str) -> None:
    lots.receive_file(f"{gtin},FILE1,2028-11-30", act())
    with pytest.raises(FileRefused) as told:
        lots.receive_file(f"{gtin},FILE1,2029-11-30", act("other"))
    assert isinstance(told.value.__cause__, ExpiryDiffers)
    with pytest.raises(NothingInFile):
        lots.receive_file(" \n", act())
    with pytest.raises(FileTooLong):
        lots.receive_file("x\n" * 501, act())


def test_a_recalled_lot_never_comes_back(gtin: str) -> None:
    lot = lots.receive(f"(01){gtin}{EXPIRY}(10)GONE", act())
    assert lots.change(lot, "recalled", "glass", act("r"))
    assert not lots.change(lot, "recalled", "glass", act("r"))
    for to in ("available", "quarantined", "recalled", "", "no such state"):
        with pytest.raises(LotStateStands):
            lots.change(lot, to, "so", act(f"to {to}"))
