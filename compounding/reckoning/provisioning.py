"""Provisioning: which containers to open for a run of preparations of one drug.

Nothing that is out of date or out of its in-use time is used; a container serves two patients only where its
size allows it; what stands open is used up before another is opened, and of all that may be used what ends
first comes first. Of the plans left, the one that wastes the least by price, then with the fewest punctures,
then the cheapest to open. The first-to-end order comes before the waste, as pharmacies keep it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.dating import in_utc
from compounding.reckoning.quantities import Quantity, write_number
from compounding.reckoning.refusals import CannotBeMade
from compounding.reckoning.vial_plans import Found, Run, Step, Vessel, search
from compounding.reckoning.vial_scale import Scale, Stock, named_vessels, run_of, written_sum
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
        "The stock does not cover these preparations: {wanted} wanted in all, {present} in stock, of which "
        "dates, in-use times or patients leave too little. Fetch more, or take a preparation out."
    )


def provision(
    needs: Sequence[Need],
    sizes: Sequence[Size],
    lots: Sequence[StockLot],
    open_now: Sequence[OpenContainer] = (),
    width: int = 2_000,
) -> Provision:
    """Return what to open for each need, and what is drawn from where.

    `width` bounds the search (states kept after each need); a plan from a cut search is not called proved.
    Refuses NotEnoughStock, OutOfRange (a content not above 0), NotConvertible (needs and sizes of two kinds).
    """
    if not needs:
        return Provision((), (), (), Decimal(0), True, ())
    in_order = tuple(sorted(needs, key=lambda need: in_utc(need.at)))
    stock = Stock.of(sizes, lots, open_now)
    scale = Scale.of(in_order, stock)
    run = run_of(in_order, stock, scale)
    found = search(run, width)
    if found is None:
        present = [*(_in_lot(lot, stock, scale) for lot in stock.lots), *(one.left for one in stock.open_now)]
        wanted = written_sum((need.content for need in in_order), scale.base)
        raise NotEnoughStock(wanted=wanted, present=written_sum(present, scale.base))
    return _Bench(in_order, stock, scale, run).provision(found)


def _in_lot(lot: StockLot, stock: Stock, scale: Scale) -> Quantity:
    return scale.content(lot.count * scale.amount(stock.sizes[stock.number(lot.size)].content))


@dataclass(frozen=True)
class _Bench:
    """A plan in whole numbers worked through once, so that every container has its name."""

    needs: tuple[Need, ...]
    stock: Stock
    scale: Scale
    run: Run

    def provision(self, found: Found) -> Provision:
        """Return the plan in words and amounts."""
        standing = named_vessels(self.stock, self.scale)
        openings: list[Opening] = []
        takings: list[Taking] = []
        wasted: list[Leftover] = []
        state = self.run.start()
        for number, lots in enumerate(found.lots):
            step, need = self.run.step(number, state, lots), self.needs[number].name
            state = step.state
            opened = self._opened(step, openings, need)
            openings += (opening for _, opening in opened)
            standing += ((vessel, opening.name) for vessel, opening in opened)
            takings += self._taken(step, standing, need)
            wasted += self._wasted(step, standing)
        cost = self.scale.money(found.cost.waste)
        lines = tuple(_lines(openings, takings, wasted, cost, found.is_proved))
        return Provision(tuple(openings), tuple(takings), tuple(wasted), cost, found.is_proved, lines)

    def _opened(self, step: Step, before: list[Opening], need: str) -> list[tuple[Vessel, Opening]]:
        opened: list[tuple[Vessel, Opening]] = []
        for vessel, number in step.opened:
            lot = self.stock.lots[number]
            alike = [one for one in (*before, *(opening for _, opening in opened)) if one.size == lot.size]
            name = f"{lot.size} {len(alike) + 1}"
            opened.append((vessel, Opening(name, lot.size, lot.lot, need)))
        return opened

    def _taken(self, step: Step, standing: list[tuple[Vessel, str]], need: str) -> Iterator[Taking]:
        for vessel, amount in step.drawn:
            place = next(place for place, (one, _) in enumerate(standing) if one == vessel)
            name = standing[place][1]
            standing[place] = (vessel._replace(left=vessel.left - amount), name)
            yield Taking(need, name, self.scale.content(amount))

    def _wasted(self, step: Step, standing: list[tuple[Vessel, str]]) -> Iterator[Leftover]:
        for vessel in step.dead:
            place = next(place for place, (one, _) in enumerate(standing) if one == vessel)
            _, name = standing.pop(place)
            if self.run.is_waste(vessel):
                cost = self.scale.money(vessel.left * self.run.kinds[vessel.kind].worth)
                yield Leftover(name, self.scale.content(vessel.left), cost)


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
