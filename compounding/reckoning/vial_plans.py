"""The search behind provisioning: which containers to open for each need, in plain whole numbers.

One layer a need, in the order of time. A state is what stands open and what is left in stock; of all ways to
a state only the cheapest is kept, so the search is exact as long as no layer is cut. Draws follow one rule,
first to end first drawn, so that only the choice of what to open is searched.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

PLENTY = -1  # a lot that cannot run out in this run


class Cost(NamedTuple):
    """What a plan costs, in the order it is judged: drug wasted, punctures, price of what is opened."""

    waste: int
    punctures: int
    price: int

    def plus(self, other: Cost) -> Cost:
        """Return both costs together."""
        return Cost(self.waste + other.waste, self.punctures + other.punctures, self.price + other.price)


class Want(NamedTuple):
    """One need: when, for whom, how much."""

    at: int
    patient: str
    amount: int


class Kind(NamedTuple):
    """One size. `worth` is the price of one unit of amount, `use` the in-use time.

    `shared`: "anyone", "patient" or "nobody" may have the rest; `is_kept`: what outlasts the run is no waste.
    """

    content: int
    worth: int
    price: int
    use: int
    shared: str
    is_kept: bool


class Batch(NamedTuple):
    """One lot in stock; of each kind they stand in the order of their end."""

    kind: int
    ends: int
    number: int


class Vessel(NamedTuple):
    """An open container. Ordered by its end: what ends first is drawn first, the dearer of two first."""

    ends: int
    cheapness: int
    kind: int
    left: int
    patient: str


class State(NamedTuple):
    """What stands open and how many of each lot are left."""

    open: tuple[Vessel, ...]
    stock: tuple[int, ...]


class Step(NamedTuple):
    """One need served: what was drawn from which vessel, which were opened from which lot, what is left."""

    state: State
    cost: Cost
    drawn: tuple[tuple[Vessel, int], ...]
    opened: tuple[tuple[Vessel, int], ...]
    dead: tuple[Vessel, ...]


class Path(NamedTuple):
    """A plan so far: the step before and which lots this one opened, in order."""

    before: Path | None
    lots: tuple[int, ...]


@dataclass(frozen=True)
class Found:
    """The best plan found: the lots opened for each want. `is_proved`: nothing was left unsearched."""

    lots: tuple[tuple[int, ...], ...]
    cost: Cost
    is_proved: bool


Sets = tuple[tuple[int, ...], ...]
# the last lot of a set, what it leaves missing (or, below zero, over), and the scarce lots in it
Trace = tuple[int, int, tuple[int, ...]]


@dataclass(frozen=True)
class Run:
    """A whole run: wants in the order of time, kinds, lots and what stands open at the start."""

    wants: tuple[Want, ...]
    kinds: tuple[Kind, ...]
    batches: tuple[Batch, ...]
    open: tuple[Vessel, ...]
    sets: dict[tuple[int, int, tuple[int, ...]], Sets] = field(default_factory=dict, compare=False)

    def start(self) -> State:
        """Return the state before the first want; lots that cannot run out are not counted down."""
        most = [sum(-(-want.amount // kind.content) for want in self.wants) for kind in self.kinds]
        stock = tuple(PLENTY if lot.number >= most[lot.kind] else lot.number for lot in self.batches)
        return State(tuple(sorted(self.open)), stock)

    def choices(self, number: int, state: State) -> Iterator[tuple[int, ...]]:
        """Yield every set of lots worth opening for a want: each container in it is drawn from."""
        want = self.wants[number]
        short = want.amount - sum(vessel.left for vessel in state.open if _may_have(vessel, want))
        asked = (want.at, max(short, 0), state.stock)
        if asked not in self.sets:
            self.sets[asked] = _sets(self, *asked)
        yield from self.sets[asked]

    def step(self, number: int, state: State, lots: Sequence[int]) -> Step:
        """Return the want served from what stands open, then from containers of these lots."""
        want = self.wants[number]
        stock, opened = list(state.stock), []
        for lot in lots:
            stock[lot] -= stock[lot] != PLENTY
            opened.append((self._vessel(lot, want), lot))
        drawn, left = _draw((*state.open, *(vessel for vessel, _ in opened)), want)
        alive, dead = self._parted(left, number)
        waste = sum(vessel.left * self.kinds[vessel.kind].worth for vessel in dead if self.is_waste(vessel))
        cost = Cost(waste, len(drawn), self.price(lots))
        return Step(State(tuple(sorted(alive)), tuple(stock)), cost, drawn, tuple(opened), dead)

    def certain_waste(self, state: State, number: int) -> int:
        """Return what is sure to be wasted after a want: more is open than all the rest can take."""
        open_now = [vessel for vessel in state.open if not self.kinds[vessel.kind].is_kept]
        rest = sum(want.amount for want in self.wants[number + 1 :])
        over = sum(vessel.left for vessel in open_now) - rest
        return over * min(self.kinds[vessel.kind].worth for vessel in open_now) if over > 0 else 0

    def next_lots(self, at: int, taken: tuple[int, ...], stock: tuple[int, ...]) -> Iterator[int]:
        """Yield for each kind the lot its next container comes from: in date, first to end first."""
        for kind in range(len(self.kinds)):
            for lot, batch in enumerate(self.batches):
                is_there = stock[lot] == PLENTY or stock[lot] > taken.count(lot)
                if batch.kind == kind and batch.ends > at and is_there:
                    yield lot
                    break

    def content(self, lot: int) -> int:
        """Return how much one container of a lot holds."""
        return self.kinds[self.batches[lot].kind].content

    def price(self, lots: Sequence[int]) -> int:
        """Return the price of one container of each of these lots."""
        return sum(self.kinds[self.batches[lot].kind].price for lot in lots)

    def rank(self, lot: int, at: int) -> tuple[int, int, int]:
        """Return where a container opened now stands in the order of drawing."""
        kind = self.kinds[self.batches[lot].kind]
        return min(at + kind.use, self.batches[lot].ends), -kind.worth, self.batches[lot].kind

    def _vessel(self, lot: int, want: Want) -> Vessel:
        ends, cheapness, kind = self.rank(lot, want.at)
        content, shared = self.kinds[kind].content, self.kinds[kind].shared
        return Vessel(ends, cheapness, kind, content, "" if shared == "anyone" else want.patient)

    def _parted(self, left: list[Vessel], number: int) -> tuple[list[Vessel], tuple[Vessel, ...]]:
        """Return what a later want may still have, and what none may."""
        alive = [vessel for vessel in left if vessel.left and self._is_wanted(vessel, number + 1)]
        return alive, tuple(vessel for vessel in left if vessel.left and vessel not in alive)

    def _is_wanted(self, vessel: Vessel, first: int) -> bool:
        if self.kinds[vessel.kind].shared == "nobody":
            return False
        if not vessel.patient:
            return first < len(self.wants) and vessel.ends >= self.wants[first].at
        return any(_may_have(vessel, want) for want in self.wants[first:])

    def is_waste(self, vessel: Vessel) -> bool:
        """Tell whether what is left is lost: all of it, unless it is kept and outlasts the run."""
        return not (self.kinds[vessel.kind].is_kept and vessel.ends > self.wants[-1].at)


def search(run: Run, width: int) -> Found | None:
    """Return the plan of least cost, or None where the stock does not suffice.

    A layer of more than `width` states is cut to its best; the plan is then not proved. A first narrow search
    gives the bound that the wide one prunes by.
    """
    narrow = _search(run, min(width, 30), None)
    if narrow is not None and narrow.is_proved:
        return narrow
    wide = _search(run, width, narrow.cost if narrow else None)
    return wide or narrow


Layer = dict[State, tuple[Cost, Path | None]]


def _search(run: Run, width: int, bound: Cost | None) -> Found | None:
    layer: Layer = {run.start(): (Cost(0, 0, 0), None)}
    is_proved = True
    for number in range(len(run.wants)):
        layer = _next_layer(run, number, layer, bound)
        if len(layer) > width:
            layer, is_proved = _cut(run, number, layer, width), False
    if not layer:
        return None
    cost, path = min(layer.values(), key=lambda reached: reached[0])
    return Found(_unrolled(path), cost, is_proved)


def _next_layer(run: Run, number: int, layer: Layer, bound: Cost | None) -> Layer:
    reached: Layer = {}
    to_come = len(run.wants) - number - 1
    for state, (cost, path) in layer.items():
        for lots in run.choices(number, state):
            step = run.step(number, state, lots)
            total = cost.plus(step.cost)
            if bound is not None and _least(run, number, step.state, total, to_come) > bound:
                continue
            known = reached.get(step.state)
            if known is None or total < known[0]:
                reached[step.state] = (total, Path(path, lots))
    return reached


def _least(run: Run, number: int, state: State, cost: Cost, to_come: int) -> Cost:
    """Return a cost that no way on from here can be below: every want to come takes one puncture at least."""
    return Cost(cost.waste + run.certain_waste(state, number), cost.punctures + to_come, cost.price)


def _cut(run: Run, number: int, layer: Layer, width: int) -> Layer:
    def promise(entry: tuple[State, tuple[Cost, Path | None]]) -> tuple[int, Cost, State]:
        state, (cost, _) = entry
        standing = sum(vessel.left * run.kinds[vessel.kind].worth for vessel in state.open)
        return cost.waste + max(standing // 2, run.certain_waste(state, number)), cost, state

    return dict(sorted(layer.items(), key=promise)[:width])


def _unrolled(path: Path | None) -> tuple[tuple[int, ...], ...]:
    lots: list[tuple[int, ...]] = []
    while path is not None:
        lots.append(path.lots)
        path = path.before
    return tuple(reversed(lots))


def _may_have(vessel: Vessel, want: Want) -> bool:
    return vessel.ends >= want.at and vessel.patient in ("", want.patient)


def _draw(vessels: tuple[Vessel, ...], want: Want) -> tuple[tuple[tuple[Vessel, int], ...], list[Vessel]]:
    """Return what is drawn from which vessel, open ones first, and every vessel with what is left in it."""
    short, drawn, left = want.amount, [], []
    for vessel in vessels:
        takes = min(short, vessel.left) if _may_have(vessel, want) else 0
        if takes:
            drawn.append((vessel, takes))
        short -= takes
        left.append(vessel._replace(left=vessel.left - takes))
    return tuple(drawn), left


def _sets(run: Run, at: int, short: int, stock: tuple[int, ...]) -> Sets:
    """Return the sets of containers, in the order of drawing, whose last one is still needed.

    All but the last are drawn empty, so of sets that leave the same in the last and use up the same of scarce
    lots one is enough: that of the fewest containers, then the cheapest. Grown by one container a round.
    """
    if short <= 0:
        return ((),)
    whole: dict[Trace, tuple[int, ...]] = {}
    seen: set[Trace] = set()
    growing: dict[Trace, tuple[int, ...]] = {(-1, short, ()): ()}
    while growing:
        grown: dict[Trace, tuple[int, ...]] = {}
        for (last, missing, _), lots in growing.items():
            for lot in run.next_lots(at, lots, stock):
                if last < 0 or run.rank(last, at) <= run.rank(lot, at):
                    longer = (*lots, lot)
                    scarce = tuple(sorted(each for each in longer if stock[each] != PLENTY))
                    _keep(run, grown, (lot, missing - run.content(lot), scarce), longer)
        for trace, lots in grown.items():
            if trace[1] <= 0:
                whole.setdefault(trace, lots)
        growing = {trace: lots for trace, lots in grown.items() if trace[1] > 0 and trace not in seen}
        seen |= growing.keys()
    return tuple(whole.values())


def _keep(run: Run, grown: dict[Trace, tuple[int, ...]], trace: Trace, lots: tuple[int, ...]) -> None:
    if trace not in grown or run.price(lots) < run.price(grown[trace]):
        grown[trace] = lots
