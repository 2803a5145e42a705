"""The search behind provisioning: which containers to open for each need.

One layer a need, in the order of time; within it containers are opened one by one, in the order of drawing.
Of all ways to a state only the cheapest is kept, and what cannot become better than the best plan known is
left out, so the search is exact as long as no layer is cut. Batches are counted only once a plan has asked
for more than there are.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from compounding.reckoning.vial_bounds import Asking, Bounds
from compounding.reckoning.vial_run import UNCOUNTED, Cost, Run, State, Vessel, Want

WIDTHS = (10, 60, 300, 100_000)  # of layers, in states: the first makes a plan, the last cuts nothing
NARROWEST = 2
NOTHING_YET = Cost(0, 0, 0)


class Path(NamedTuple):
    """A plan so far: the path before, and the batches that the last want opened, in the order of drawing."""

    before: Path | None
    batches: tuple[int, ...]


@dataclass(frozen=True)
class Found:
    """The best plan found: the batches opened for each want. `is_proved`: nothing was left unsearched."""

    batches: tuple[tuple[int, ...], ...]
    cost: Cost
    is_proved: bool


Layer = dict[State, tuple[Cost, Path | None]]
Way = tuple[Asking, Cost, Path | None, tuple[int, ...]]
Pending = dict[Asking, Way]


def search(run: Run, effort: int) -> Found | None:
    """Return the plan of least waste and then fewest punctures, or None where none was found.

    `effort` is how many openings may be tried; a plan of a search cut short is not called proved. Kinds of
    which a batch ends within the run are counted from the first; others when a plan overdraws them.
    """
    if _there_is_too_little(run):
        return None
    ending = {batch.kind for batch in run.batches if batch.ends < run.horizon}
    watched = frozenset(number for number, batch in enumerate(run.batches) if batch.kind in ending)
    tried = 0
    while True:
        pursuit = Pursuit(run, watched, effort, tried)
        found = pursuit.best()
        overdrawn = _overdrawn(run, found)
        if not overdrawn:
            return found
        tried = pursuit.tried
        watched = watched | overdrawn if tried < effort else frozenset(range(len(run.batches)))


def _there_is_too_little(run: Run) -> bool:
    closed = sum(run.kinds[batch.kind].content * batch.number for batch in run.batches)
    return closed + sum(vessel.left for vessel in run.open) < sum(want.amount for want in run.wants)


def _overdrawn(run: Run, found: Found | None) -> frozenset[int]:
    used = [batch for batches in found.batches for batch in batches] if found else []
    return frozenset(batch for batch in used if used.count(batch) > run.batches[batch].number)


@dataclass
class Pursuit:
    """One search with some batches watched: ever wider, each pass pruned by the best plan of those before."""

    run: Run
    watched: frozenset[int]
    effort: int
    tried: int
    bounds: Bounds = field(init=False)
    known: Found | None = None
    is_cut: bool = False
    width: int = WIDTHS[0]

    def __post_init__(self) -> None:
        """Make the bounds ready."""
        self.bounds = Bounds(self.run)

    def best(self) -> Found | None:
        """Return the best plan, proved where a pass left nothing out."""
        for self.width in WIDTHS:
            if self._is_spent():
                break
            self._pass()
            if not self.is_cut:
                return self.known and Found(self.known.batches, self.known.cost, True)
        return self.known

    def _pass(self) -> None:
        """Search once with layers of at most `width` states; note a better plan."""
        stock = tuple(b.number if n in self.watched else UNCOUNTED for n, b in enumerate(self.run.batches))
        layer: Layer = {State(tuple(sorted(self.run.open)), stock): (NOTHING_YET, None)}
        self.is_cut = False
        for number in range(len(self.run.wants)):
            layer = self._cut(number, self._next_layer(number, layer))
            if self._is_spent():
                return
        if layer:
            cost, path = min(layer.values(), key=lambda reached: reached[0])
            self.known = Found(_unrolled(path), cost, False)

    def _next_layer(self, number: int, layer: Layer) -> Layer:
        """Return every state after a want that may still be on the way to a better plan."""
        reached: Layer = {}
        pending: Pending = {}
        for state, (cost, path) in layer.items():
            asking, total = self._from_open(number, state, cost)
            if asking.short:
                self._keep(pending, (asking, total, path, ()))
            else:
                self._note(number, reached, State(asking.open, asking.stock), (total, Path(path, ())))
        for batch, sooner in self._order(self.run.wants[number]):
            self._open(number, (batch, sooner), pending, reached)
        return reached

    def _from_open(self, number: int, state: State, cost: Cost) -> tuple[Asking, Cost]:
        """Return what is short once all that stands open is drawn from, and the cost of that."""
        self.tried += 1
        served, run = self.run.serve(number, state.open), self.run
        alive = tuple(sorted(vessel for vessel in served.left if run.is_wanted(vessel, number)))
        lost = sum(run.lost(vessel) for vessel in served.left if not run.is_wanted(vessel, number))
        return Asking(served.short, alive, state.stock), cost.plus(lost, len(served.drawn), 0)

    def _open(self, number: int, offer: tuple[int, list[int]], pending: Pending, reached: Layer) -> None:
        """Open containers of one batch, one more each time, for every want that is still short.

        None is opened while one of its kind is left that ends sooner and is still in date.
        """
        batch, sooner = offer
        kind = self.run.kinds[self.run.batches[batch].kind]
        growing = list(pending.values())
        for asking, cost, path, batches in growing:
            if not asking.stock[batch] or any(asking.stock[other] for other in sooner):
                continue
            if self._is_spent():
                return
            self.tried += 1
            total, opened = cost.plus(0, 1, kind.price), (*batches, batch)
            stock = self._taken(asking.stock, batch)
            if asking.short <= kind.content:
                after, lost = self._with_rest(number, batch, kind.content - asking.short, asking.open)
                way = (total.plus(lost, 0, 0), Path(path, opened))
                self._note(number, reached, State(after, stock), way)
            else:
                longer = Asking(asking.short - kind.content, asking.open, stock)
                if self._is_promising(number, longer, total):
                    growing += self._keep(pending, (longer, total, path, opened))

    def _keep(self, pending: Pending, way: Way) -> list[Way]:
        """Keep a way to be short of so much if it is the cheapest yet; return it if so.

        The first, narrow pass makes no difference between two that differ in what is left in stock.
        """
        key = way[0]
        if self.width == WIDTHS[0] and self.watched:
            key = key._replace(stock=())
            self.is_cut = True
        if key in pending and pending[key][1] <= way[1]:
            return []
        pending[key] = way
        return [way]

    def _is_spent(self) -> bool:
        """Tell whether the effort is spent; the first pass goes on all the same, for there must be a plan."""
        spent = self.tried >= self.effort and self.width != WIDTHS[0]
        self.is_cut |= spent
        return spent

    def _with_rest(
        self, number: int, batch: int, left: int, alive: tuple[Vessel, ...]
    ) -> tuple[tuple[Vessel, ...], int]:
        """Return what stands open once the last container opened holds its rest, and the waste of that."""
        one = self.run.opened(batch, number, left)
        if not self.run.is_wanted(one, number):
            return alive, self.run.lost(one)
        return tuple(sorted((*alive, one))) if alive else (one,), 0

    def _note(self, number: int, reached: Layer, state: State, way: tuple[Cost, Path | None]) -> None:
        """Keep a way to a state if it is the cheapest yet and may still become better than the plan known."""
        before = reached.get(state)
        if before is not None and before[0] <= way[0]:
            return
        if self._is_promising(number, Asking(0, state.open, state.stock), way[0]):
            reached[state] = way

    def _is_promising(self, number: int, asking: Asking, cost: Cost) -> bool:
        return self.known is None or self._least(number, asking, cost) < self.known.cost[:2]

    def _least(self, number: int, asking: Asking, cost: Cost) -> tuple[int, int]:
        is_pure = self.known is not None and not self.known.cost.waste
        return self.bounds.least(number, asking, cost, is_pure)

    def _order(self, want: Want) -> list[tuple[int, list[int]]]:
        """Return the batches in date in the order of drawing, each with those of its kind that end sooner.

        Where a want is not divided, those that hold less are left out.
        """
        run, at = self.run, want.at
        least = want.amount if run.is_whole else 0
        fit = [n for n, batch in enumerate(run.batches) if run.kinds[batch.kind].content >= least]
        there = [n for n in fit if run.batches[n].ends > at and run.batches[n].number]
        return [
            (batch, [n for n in there if n < batch and run.batches[n].kind == run.batches[batch].kind])
            for batch in sorted(there, key=lambda batch: run.rank(batch, at))
        ]

    def _taken(self, stock: tuple[int, ...], batch: int) -> tuple[int, ...]:
        if stock[batch] == UNCOUNTED:
            return stock
        return (*stock[:batch], stock[batch] - 1, *stock[batch + 1 :])

    def _cut(self, number: int, layer: Layer) -> Layer:
        """Return the most promising of a layer: the least bound first, then the least worth standing open."""
        # a first pass that takes too long goes on by a thread, for there must be a plan
        width = NARROWEST if self.width == WIDTHS[0] and 2 * self.tried > self.effort else self.width
        if len(layer) <= width:
            return layer
        self.is_cut = True

        def promise(
            entry: tuple[State, tuple[Cost, Path | None]],
        ) -> tuple[tuple[int, int], int, Cost, State]:
            state, (cost, _) = entry
            standing = sum(-vessel.left * vessel.cheapness for vessel in state.open)
            asking = Asking(0, state.open, state.stock)
            return self.bounds.least(number, asking, cost, True), standing, cost, state

        return dict(sorted(layer.items(), key=promise)[:width])


def _unrolled(path: Path | None) -> tuple[tuple[int, ...], ...]:
    batches: list[tuple[int, ...]] = []
    while path is not None:
        batches.append(path.batches)
        path = path.before
    return tuple(reversed(batches))
