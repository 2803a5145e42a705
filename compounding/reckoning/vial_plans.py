"""The search behind provisioning: which containers to open for each need.

One layer a need, in the order of time. Of all ways to a state only the cheapest is kept, so the search is
exact as long as no layer is cut. Batches are counted only once a plan has asked for more than there are.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from compounding.reckoning.vial_run import Cost, Run, State, Vessel
from compounding.reckoning.vial_sets import VialSets

WIDTHS = (30, 150, 2_000)


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


Way = tuple[State, Cost, tuple[int, ...]]
Layer = dict[State, tuple[Cost, Path | None]]


def search(run: Run, effort: int) -> Found | None:
    """Return the plan of least cost, or None where the stock does not suffice.

    `effort` is how many steps may be tried before layers are cut narrow; a plan of cut layers is not proved.

    Kinds of which a batch ends within the run are counted from the first; others when a plan overdraws them.
    """
    ending = {batch.kind for batch in run.batches if batch.ends < run.horizon}
    watched = frozenset(number for number, batch in enumerate(run.batches) if batch.kind in ending)
    while True:
        found = _within(VialSets(run, watched), effort)
        overdrawn = _overdrawn(run, found)
        if not overdrawn:
            return found
        watched |= overdrawn


def _within(sets: VialSets, effort: int) -> Found | None:
    """Return the best plan of ever wider searches, each pruned by the one before, until one is uncut."""
    best: Found | None = None
    for width in WIDTHS:
        found = _searched(sets, width, effort, best.cost if best else None)
        if found is not None and (best is None or found.cost <= best.cost):
            best = found
        if found is not None and found.is_proved:
            break
    return best


def _overdrawn(run: Run, found: Found | None) -> frozenset[int]:
    used = [batch for batches in found.batches for batch in batches] if found else []
    return frozenset(batch for batch in used if used.count(batch) > run.batches[batch].number)


def _searched(sets: VialSets, width: int, effort: int, bound: Cost | None) -> Found | None:
    """Return the best plan of layers of at most `width` states; once the effort is spent, of narrow ones."""
    run = sets.run
    layer: Layer = {State(tuple(sorted(run.open)), sets.stock()): (Cost(0, 0, 0), None)}
    is_proved = True
    for number in range(len(run.wants)):
        layer = _next_layer(sets, number, layer, bound)
        allowed = width if sets.tried < effort else WIDTHS[0]
        if len(layer) > allowed:
            layer, is_proved = _cut(sets, number, layer, allowed), False
    if not layer:
        return None
    cost, path = min(layer.values(), key=lambda reached: reached[0])
    return Found(_unrolled(path), cost, is_proved)


def _next_layer(sets: VialSets, number: int, layer: Layer, bound: Cost | None) -> Layer:
    reached: Layer = {}
    least = sets.bounds.least
    for state, (cost, path) in layer.items():
        for after, total, batches in _ways(sets, number, state, cost):
            sets.tried += 1
            known = reached.get(after)
            if known is not None and known[0] <= total:
                continue
            if bound is None or least(number, after, total) <= bound:
                reached[after] = (total, Path(path, batches))
    return reached


def _ways(sets: VialSets, number: int, state: State, cost: Cost) -> Iterator[Way]:
    """Yield every way to serve a want: the state after it, the cost so far, and what was opened."""
    run = sets.run
    served = run.serve(number, state.open)
    alive = [vessel for vessel in served.left if run.is_wanted(vessel, number)]
    lost = sum(run.lost(vessel) for vessel in served.left if not run.is_wanted(vessel, number))
    waste, punctures, price = cost.waste + lost, cost.punctures + len(served.drawn), cost.price
    if not served.short:
        yield State(tuple(sorted(alive)), state.stock), Cost(waste, punctures, price), ()
        return
    for opening in sets.openings(run.wants[number].at, served.short, state.stock):
        (ends, cheapness, kind, _, patient), is_wanted, worth = sets.rest(opening.batches[-1], number)
        rest = [Vessel(ends, cheapness, kind, opening.left, patient)] if is_wanted and opening.left else []
        total = Cost(waste + worth * opening.left, punctures + len(opening.batches), price + opening.price)
        stock = sets.taken(state.stock, opening) if sets.watched else state.stock
        yield State(tuple(sorted(alive + rest)) if alive else tuple(rest), stock), total, opening.batches


def _cut(sets: VialSets, number: int, layer: Layer, width: int) -> Layer:
    """Return the most promising of a layer: the least bound first, then the least worth standing open."""

    def promise(entry: tuple[State, tuple[Cost, Path | None]]) -> tuple[Cost, int, State]:
        state, (cost, _) = entry
        standing = sum(-vessel.left * vessel.cheapness for vessel in state.open)
        return sets.bounds.least(number, state, cost), standing, state

    return dict(sorted(layer.items(), key=promise)[:width])


def _unrolled(path: Path | None) -> tuple[tuple[int, ...], ...]:
    batches: list[tuple[int, ...]] = []
    while path is not None:
        batches.append(path.batches)
        path = path.before
    return tuple(reversed(batches))
