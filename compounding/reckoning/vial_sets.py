"""Which sets of containers are worth opening together for what is short.

All but the last of a set are drawn empty, so of the sets that leave the same in the same last container, and
take the same from watched batches, one is enough: the one of fewest containers, then the cheapest.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field
from typing import NamedTuple

from compounding.reckoning.vial_bounds import Bounds
from compounding.reckoning.vial_run import UNCOUNTED, Run, Vessel

Trace = tuple[int, tuple[int, ...]]  # content of a set, and what it takes from watched batches
Best = tuple[int, int, tuple[int, ...]]  # number of containers, price, batches in the order of drawing


class Opening(NamedTuple):
    """A set to open: its batches in the order of drawing, what it costs, and what is left in the last."""

    batches: tuple[int, ...]
    price: int
    left: int


Entries = list[tuple[int, Best]]


@dataclass
class VialSets:
    """The sets of one run; tables are made once for each order of drawing. `watched` batches are counted."""

    run: Run
    watched: frozenset[int]
    tried: int = 0
    most: int = field(init=False)
    bounds: Bounds = field(init=False)
    tables: dict[tuple[int, ...], list[Entries]] = field(default_factory=dict)
    asked: dict[tuple[int, int, tuple[int, ...]], tuple[Opening, ...]] = field(default_factory=dict)

    rests: dict[tuple[int, int], tuple[Vessel, bool, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Note the most that can be short, and the bounds of the run."""
        self.most = max(want.amount for want in self.run.wants)
        self.bounds = Bounds(self.run)

    def openings(self, at: int, short: int, stock: tuple[int, ...]) -> tuple[Opening, ...]:
        """Return every set worth opening at a time for what is short, within the stock."""
        key = (at, short, stock)
        if key not in self.asked:
            self.asked[key] = self._openings(self._order(at), short, stock)
        return self.asked[key]

    def stock(self) -> tuple[int, ...]:
        """Return the stock at the start: watched batches with their number, the others uncounted."""
        batches = enumerate(self.run.batches)
        return tuple(batch.number if number in self.watched else UNCOUNTED for number, batch in batches)

    def rest(self, batch: int, number: int) -> tuple[Vessel, bool, int]:
        """Return a container opened for a want, whether its rest is wanted, what a unit lost costs."""
        if (batch, number) not in self.rests:
            one = self.run.opened(batch, number, 1)
            is_wanted = self.run.is_wanted(one, number)
            self.rests[batch, number] = (one, is_wanted, 0 if is_wanted else self.run.lost(one))
        return self.rests[batch, number]

    def taken(self, stock: tuple[int, ...], opening: Opening) -> tuple[int, ...]:
        """Return the stock after a set is opened."""
        used = opening.batches
        return tuple(n if n == UNCOUNTED else n - used.count(batch) for batch, n in enumerate(stock))

    def _order(self, at: int) -> tuple[int, ...]:
        batches = [
            number for number, batch in enumerate(self.run.batches) if batch.ends > at and batch.number
        ]
        return tuple(sorted(batches, key=lambda batch: self.run.rank(batch, at)))

    def _openings(self, order: tuple[int, ...], short: int, stock: tuple[int, ...]) -> tuple[Opening, ...]:
        if order not in self.tables:
            self.tables[order] = self._tables(order)
        best: dict[tuple[int, int, tuple[int, ...]], Best] = {}
        for last, entries in zip(order, self.tables[order], strict=True):
            content = self.run.kinds[self.run.batches[last].kind].content
            for total, before in entries[bisect_left(entries, (short - content,)) :]:
                if total >= short:
                    break
                found = self._with(before, last)
                if self._is_allowed(found[2], order, stock):
                    key = (last, total + content - short, self._watched_in(found[2]))
                    best[key] = min(found, best.get(key, found))
        return tuple(Opening(lots, price, left) for (_, left, _), (_, price, lots) in best.items())

    def _tables(self, order: tuple[int, ...]) -> list[Entries]:
        """Return for each batch the best sets, short of `most`, of it and of those drawn before it."""
        known: dict[Trace, Best] = {(0, ()): (0, 0, ())}
        tables = []
        for batch in order:
            growing = dict(known)
            while growing:
                growing = self._grown(growing, batch, known)
            tables.append(sorted((total, best) for (total, _), best in known.items()))
        return tables

    def _grown(self, growing: dict[Trace, Best], batch: int, known: dict[Trace, Best]) -> dict[Trace, Best]:
        """Return the sets that one more of a batch makes better than known, noting them."""
        better: dict[Trace, Best] = {}
        content = self.run.kinds[self.run.batches[batch].kind].content
        for (total, _), before in growing.items():
            longer = self._with(before, batch)
            trace = (total + content, self._watched_in(longer[2]))
            if trace[0] < self.most and longer < known.get(trace, (self.most + 1, 0, ())):
                known[trace] = better[trace] = longer
        return better

    def _with(self, before: Best, batch: int) -> Best:
        price = self.run.kinds[self.run.batches[batch].kind].price
        return before[0] + 1, before[1] + price, (*before[2], batch)

    def _watched_in(self, batches: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(batch for batch in batches if batch in self.watched) if self.watched else ()

    def _is_allowed(self, batches: tuple[int, ...], order: tuple[int, ...], stock: tuple[int, ...]) -> bool:
        """Tell whether the stock suffices and no batch is opened before an earlier one of its kind."""
        if not self.watched:
            return True
        return all(
            stock[batch] == UNCOUNTED
            or (batches.count(batch) <= stock[batch] and self._is_first(batch, batches, order, stock))
            for batch in set(batches)
        )

    def _is_first(
        self, batch: int, batches: tuple[int, ...], order: tuple[int, ...], stock: tuple[int, ...]
    ) -> bool:
        kind = self.run.batches[batch].kind
        earlier = (other for other in order if other < batch and self.run.batches[other].kind == kind)
        return all(batches.count(other) == stock[other] for other in earlier)
