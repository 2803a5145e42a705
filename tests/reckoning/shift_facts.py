"""Sizes, lots and needs of one morning, in mg, for the tests of provisioning."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from compounding.reckoning.provisioning import Need, Sharing, Size, StockLot
from compounding.reckoning.quantities import of

EIGHT = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)


def hours(number: int) -> datetime:
    return EIGHT + timedelta(hours=number)


def size(content: int | str, price: str = "1", sharing: Sharing = Sharing.ANYONE, **changes: Any) -> Size:
    in_use = changes.pop("in_use", 12)
    return Size(
        f"{content} mg", of(content, "mg"), Decimal(price), sharing, timedelta(hours=in_use), **changes
    )


def lot(code: str, count: int = 10, ends: int = 1000, name: str = "A") -> StockLot:
    return StockLot(code, name, hours(ends), count)


def need(number: int, content: int | str, at: int = 0, patient: str | None = None) -> Need:
    return Need(
        f"bag {number}", f"patient {number}" if patient is None else patient, hours(at), of(content, "mg")
    )
