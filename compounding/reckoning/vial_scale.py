"""The facts of provisioning in whole numbers and back: contents, prices and times without loss."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

from compounding.reckoning.dating import in_utc
from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.refusals import OutOfRange
from compounding.reckoning.strengths import base_of
from compounding.reckoning.vial_run import Batch, Kind, Run, Vessel, Want
from compounding.reckoning.vial_stock import Need, OpenContainer, Sharing, Size, StockLot

MOST_FOR_ONE = 100
_TICK = timedelta(microseconds=1)


@dataclass(frozen=True)
class Stock:
    """Everything that could be drawn from; lots stand by size, first to end first."""

    sizes: tuple[Size, ...]
    lots: tuple[StockLot, ...]
    open_now: tuple[OpenContainer, ...]

    @classmethod
    def of(cls, sizes: Iterable[Size], lots: Iterable[StockLot], open_now: Iterable[OpenContainer]) -> Stock:
        """Return the stock in order. A lot or container of an unknown size is a fault of the program."""
        known = tuple(sizes)
        codes = [size.code for size in known]
        in_order = sorted(lots, key=lambda lot: (codes.index(lot.size), in_utc(lot.ends_at)))
        return cls(known, tuple(in_order), tuple(open_now))

    def number(self, code: str) -> int:
        """Return which size a code names."""
        return [size.code for size in self.sizes].index(code)


@dataclass(frozen=True)
class Scale:
    """How many whole parts a base unit has, how many whole coins a unit of money, and when time begins."""

    base: str
    parts: int
    coins: int
    start: datetime

    @classmethod
    def of(cls, needs: tuple[Need, ...], stock: Stock) -> Scale:
        """Return the scale on which every fact of the run is a whole number.

        Refuses OutOfRange for a content not above 0 or a size far too small, NotConvertible for two kinds.
        """
        base = base_of(needs[0].content)
        contents = [*(need.content for need in needs), *(size.content for size in stock.sizes)]
        amounts = [_positive(content, base) for content in contents]
        amounts += [number_in(container.left, base) for container in stock.open_now]
        parts = _common(Fraction(amount).denominator for amount in amounts)
        _check_numbers(max(amounts[: len(needs)]), stock, base)
        worths = [Fraction(size.price) / int(number_in(size.content, base) * parts) for size in stock.sizes]
        coins = _common(worth.denominator for worth in worths)
        return cls(base, parts, coins, in_utc(needs[0].at))

    def amount(self, content: Quantity) -> int:
        """Return a content in whole parts."""
        return int(number_in(content, self.base) * self.parts)

    def content(self, amount: int) -> Quantity:
        """Return whole parts as a content."""
        return of(Decimal(amount) / self.parts, self.base)

    def money(self, coins: int) -> Decimal:
        """Return whole coins as money."""
        return Decimal(coins) / self.coins

    def tick(self, moment: datetime) -> int:
        """Return a moment in microseconds from the first need."""
        return (in_utc(moment) - self.start) // _TICK

    def kind(self, size: Size) -> Kind:
        """Return a size in whole numbers."""
        content, price = self.amount(size.content), int(Fraction(size.price) * self.coins)
        return Kind(content, price // content, price, size.in_use // _TICK, size.sharing.value, size.is_kept)


def batches_of(needs: tuple[Need, ...], stock: Stock, scale: Scale) -> list[tuple[Batch, list[StockLot]]]:
    """Return lots as batches: one for each that ends within the run, one for all of a size that outlast it.

    A lot outlasts the run when it may still be opened for the last need.
    """
    horizon = scale.tick(needs[-1].at) + 1
    batches: list[tuple[Batch, list[StockLot]]] = []
    for lot in stock.lots:
        number, ends = stock.number(lot.size), min(scale.tick(lot.ends_at), horizon)
        if batches and ends == horizon and batches[-1][0][:2] == (number, horizon):
            before, lots = batches[-1]
            batches[-1] = (before._replace(number=before.number + lot.count), [*lots, lot])
        else:
            batches.append((Batch(number, ends, lot.count), [lot]))
    return batches


def run_of(needs: tuple[Need, ...], stock: Stock, scale: Scale, is_whole: bool = False) -> Run:
    """Return the run in whole numbers; a need without a patient shares nothing bound to one."""
    wants = tuple(
        Want(scale.tick(need.at), need.patient or f"need {number} alone", scale.amount(need.content))
        for number, need in enumerate(needs)
    )
    batches = tuple(batch for batch, _ in batches_of(needs, stock, scale))
    kinds = tuple(scale.kind(size) for size in stock.sizes)
    return Run(wants, kinds, batches, tuple(vessel for vessel, _ in named_vessels(stock, scale)), is_whole)


def named_vessels(stock: Stock, scale: Scale) -> list[tuple[Vessel, str]]:
    """Return the open containers that may still be entered, each with its name."""
    found = []
    for container in stock.open_now:
        number = stock.number(container.size)
        size, ends = stock.sizes[number], scale.tick(container.ends_at)
        is_bound = size.sharing is Sharing.PATIENT
        is_lost = size.sharing is Sharing.NOBODY or (is_bound and not container.patient)
        left = scale.amount(container.left)
        if ends >= 0 and left > 0 and not is_lost:
            patient = container.patient if is_bound else ""
            found.append((Vessel(ends, -scale.kind(size).worth, number, left, patient), container.name))
    return found


def written_sum(contents: Iterable[Quantity], base: str) -> str:
    """Return the sum of contents as a sentence writes it."""
    return write(of(sum((number_in(content, base) for content in contents), Decimal(0)), base))


def _check_numbers(most: Decimal, stock: Stock, base: str) -> None:
    """Refuse a size of which one preparation would take more than anybody opens."""
    for size in stock.sizes:
        if most > MOST_FOR_ONE * number_in(size.content, base):
            raise OutOfRange(
                what=f"The size {size.code} for a preparation of {write(of(most, base))}",
                given="used",
                range=f"sizes of which it takes at most {MOST_FOR_ONE}, and leave this one out",
            )


def _positive(content: Quantity, base: str) -> Decimal:
    number = number_in(content, base)
    if not number > 0:
        raise OutOfRange(what="A content", given=write(content), range="an amount above 0")
    return number


def _common(denominators: Iterable[int]) -> int:
    """Return the least common multiple."""
    common = 1
    for each in denominators:
        common = Fraction(common, each).numerator * each
    return common
