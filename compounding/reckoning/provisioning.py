"""Provisioning: which containers to open for a run of preparations of one drug.

Nothing that is out of date or out of its in-use time is used; a container serves two patients only where its
size allows it; what stands open is used up before another is opened, and of all that may be used what ends
first comes first. Of the plans left, the one that wastes the least by price, then with the fewest punctures;
of those met that are alike in both, the cheapest to open. The first-to-end order comes before the waste, as
pharmacies keep it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from compounding.reckoning.dating import in_utc
from compounding.reckoning.quantities import Quantity, write_number
from compounding.reckoning.refusals import CannotBeMade
from compounding.reckoning.vial_plans import Found, search
from compounding.reckoning.vial_run import Run, Vessel
from compounding.reckoning.vial_scale import Scale, Stock, batches_of, named_vessels, run_of, written_sum
from compounding.reckoning.vial_stock import (
    Leftover,
    Need,
    OpenContainer,
    Opening,
    Provision,
    Sharing,
    Size,
    StockLot,
    Taking,
)
from compounding.reckoning.working import short
from compounding.reckoning.worksheet import Line

__all__ = [
    "Leftover", "Need", "NotEnoughStock", "OpenContainer", "Opening", "Provision", "Sharing", "Size",
    "StockLot", "Taking", "provision",
]  # fmt: skip


class NotEnoughStock(CannotBeMade):
    """No way to serve every preparation from what is in stock and in date. Facts: wanted, present."""

    wording = (
        "No plan was found that covers these preparations: {wanted} wanted in all, {present} in stock, of "
        "which dates, in-use times and patients leave too little. Fetch more, or take a preparation out."
    )


def provision(
    needs: Sequence[Need],
    sizes: Sequence[Size],
    lots: Sequence[StockLot],
    open_now: Sequence[OpenContainer] = (),
    effort: int = 50_000,
    is_whole: bool = False,
) -> Provision:
    """Return what to open for each need, and what is drawn from where.

    `effort` bounds the search, in openings tried (as it is, within about a second); a plan from a search cut
    short is not called proved. `is_whole`: each need is drawn from one container, never from two.
    Refuses NotEnoughStock, OutOfRange (a content not above 0), NotConvertible (needs and sizes of two kinds).
    """
    if not needs:
        return Provision((), (), (), Decimal(0), True, ())
    in_order = tuple(sorted(needs, key=lambda need: in_utc(need.at)))
    stock = Stock.of(sizes, lots, open_now)
    scale = Scale.of(in_order, stock)
    run = run_of(in_order, stock, scale, is_whole)
    found = search(run, effort)
    if found is None:
        present = [*(_in_lot(lot, stock, scale) for lot in stock.lots), *(one.left for one in stock.open_now)]
        wanted = written_sum((need.content for need in in_order), scale.base)
        raise NotEnoughStock(wanted=wanted, present=written_sum(present, scale.base))
    return _Bench(in_order, stock, scale, run).worked(found)


def _in_lot(lot: StockLot, stock: Stock, scale: Scale) -> Quantity:
    return scale.content(lot.count * scale.amount(stock.sizes[stock.number(lot.size)].content))


class _Bench:
    """A plan in whole numbers worked through once more, so that every container has its name and lot."""

    def __init__(self, needs: tuple[Need, ...], stock: Stock, scale: Scale, run: Run) -> None:
        self.needs, self.scale, self.run = needs, scale, run
        self.unopened = [
            [lot for lot in lots for _ in range(lot.count)] for _, lots in batches_of(needs, stock, scale)
        ]
        self.standing = sorted(named_vessels(stock, scale))
        self.openings: list[Opening] = []
        self.takings: list[Taking] = []
        self.wasted: list[Leftover] = []

    def worked(self, found: Found) -> Provision:
        """Return the plan in words and amounts."""
        for number, batches in enumerate(found.batches):
            self.standing.sort()
            opened = [(self._full(batch, number), self._opened(batch, number)) for batch in batches]
            self.standing = self._clear([*self._drawn(number, [*self.standing, *opened])], number)
        cost = self.scale.money(found.cost.waste)
        lines = tuple(_lines(self.openings, self.takings, self.wasted, cost, found.is_proved))
        plan = (tuple(self.openings), tuple(self.takings), tuple(self.wasted))
        return Provision(*plan, cost, found.is_proved, lines)

    def _full(self, batch: int, number: int) -> Vessel:
        return self.run.opened(batch, number, self.run.kinds[self.run.batches[batch].kind].content)

    def _opened(self, batch: int, number: int) -> str:
        lot = self.unopened[batch].pop(0)
        name = f"{lot.size} {sum(opening.size == lot.size for opening in self.openings) + 1}"
        self.openings.append(Opening(name, lot.size, lot.lot, self.needs[number].name))
        return name

    def _drawn(self, number: int, standing: list[tuple[Vessel, str]]) -> Iterator[tuple[Vessel, str]]:
        served = self.run.serve(number, (vessel for vessel, _ in standing))
        for (before, name), after in zip(standing, served.left, strict=True):
            if after.left != before.left:
                content = self.scale.content(before.left - after.left)
                self.takings.append(Taking(self.needs[number].name, name, content))
            yield after, name

    def _clear(self, standing: list[tuple[Vessel, str]], number: int) -> list[tuple[Vessel, str]]:
        """Return what a later need may still have; what is lost of the others is noted."""
        for vessel, name in standing:
            coins = 0 if self.run.is_wanted(vessel, number) else self.run.lost(vessel)
            if coins:
                content = self.scale.content(vessel.left)
                self.wasted.append(Leftover(name, content, self.scale.money(coins)))
        return [one for one in standing if self.run.is_wanted(one[0], number)]


def _lines(
    openings: list[Opening], takings: list[Taking], wasted: list[Leftover], cost: Decimal, is_proved: bool
) -> Iterator[Line]:
    opened = {opening.name: opening for opening in openings}
    for taking in takings:
        opening = opened.pop(taking.container, None)
        how = f", opened now from lot {opening.lot}" if opening else ", already open"
        yield Line(taking.need, f"{short(taking.content)} from {taking.container}{how}")
    for leftover in wasted:
        price = write_number(leftover.cost, 2)
        yield Line("waste", f"{short(leftover.content)} of {leftover.container}, worth {price}")
    sure = "no plan wastes less" if is_proved else "not proved: a better plan may exist"
    punctures = f"{len(takings)} puncture" + ("" if len(takings) == 1 else "s")
    yield Line("plan", f"waste worth {write_number(cost, 2)}, {punctures}; {sure}")
