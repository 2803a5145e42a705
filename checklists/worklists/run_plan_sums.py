"""What a plan opens and wastes beside each order opening its own, in containers, volume and money."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import reduce

from compounding.formulary.shift import Group
from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.vial_account import Account

NONE = Decimal(0)


@dataclass(frozen=True)
class Side:
    """One way to open: containers, mL opened, wasted and kept in use, and money where prices are known."""

    containers: int = 0
    opened: Decimal = NONE
    price: Decimal = NONE
    wasted: Decimal = NONE
    wasted_price: Decimal = NONE
    kept: Decimal = NONE

    def plus(self, other: Side) -> Side:
        """Return both together."""
        return Side(
            self.containers + other.containers,
            self.opened + other.opened,
            self.price + other.price,
            self.wasted + other.wasted,
            self.wasted_price + other.wasted_price,
            self.kept + other.kept,
        )

    @property
    def opened_written(self) -> str:
        """Return the volume opened."""
        return _volume(self.opened)

    @property
    def wasted_written(self) -> str:
        """Return the volume thrown away."""
        return _volume(self.wasted)

    @property
    def kept_written(self) -> str:
        """Return the volume that stays in use."""
        return _volume(self.kept)


@dataclass(frozen=True)
class Compared:
    """Each order with its own, and the plan; `unpriced` products are counted without money."""

    naive: Side = Side()
    planned: Side = Side()
    unpriced: int = 0

    @classmethod
    def total(cls, parts: Iterable[Compared]) -> Compared:
        """Return the sum of all products."""
        return reduce(
            lambda one, other: cls(
                one.naive.plus(other.naive),
                one.planned.plus(other.planned),
                one.unpriced + other.unpriced,
            ),
            parts,
            cls(),
        )

    @property
    def saved_containers(self) -> int:
        """Return how many containers stay closed."""
        return self.naive.containers - self.planned.containers

    @property
    def saved(self) -> Decimal:
        """Return how many mL stay closed."""
        return self.naive.opened - self.planned.opened

    @property
    def saved_written(self) -> str:
        """Return the volume that stays closed."""
        return _volume(self.saved)

    @property
    def saved_price(self) -> Decimal:
        """Return the price of what stays closed."""
        return self.naive.price - self.planned.price


def compared(group: Group, naive: Account, planned: Account) -> Compared:
    """Return the two ways of one product in volumes, without money where the product has no price."""
    is_priced = group.product.price is not None
    return Compared(
        _side(group, naive, is_priced), _side(group, planned, is_priced), unpriced=int(not is_priced)
    )


def _side(group: Group, account: Account, is_priced: bool) -> Side:
    def volume(content: Quantity) -> Decimal:
        return number_in(group.volume(content), "mL")

    return Side(
        account.containers,
        volume(account.opened),
        account.price if is_priced else NONE,
        volume(account.wasted),
        account.wasted_price if is_priced else NONE,
        volume(account.kept),
    )


def _volume(number: Decimal) -> str:
    return write(of(number, "mL"), 1)
