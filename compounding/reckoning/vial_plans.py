"""The search behind provisioning: which containers to open for each need.

One layer a need, in the order of time. Of all ways to a state only the cheapest is kept, so the search is exact
as long as no layer is cut. Batches are counted only once a plan has asked for more than there are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from compounding.reckoning.vial_run import Cost, Run, State, Vessel
from compounding.reckoning.vial_sets import Opening, VialSets

NARROW = 30


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


def search(run: Run, width: int) -> Found | None:
    """Return the plan of least cost, or None where the stock does not suffice.

    Kinds of which a batch ends within the run are counted from the first; others when a plan overdraws them.
    """
    ending = {batch.kind for batch in run.batches if batch.ends < run.horizon}
    watched = frozenset(number for number, batch in enumerate(run.batches) if batch.kind in ending)
    while True:
        found = _within(VialSets(run, watched), width)
        overdrawn = _overdrawn(run, found)
        if not overdrawn:
            return found
        watched |= overdrawn


def _within(sets: VialSets, width: int) -> Found | None:
    """Return the best plan of a narrow search, or of a wide one that prunes by it."""
    narrow = _searched(sets, min(width, NARROW), None)
    if narrow is not None and narrow.is_proved:
        return narrow
    return _searched(sets, width, narrow.cost if narrow else None) or narrow


def _overdrawn(run: Run, found: Found | None) -> frozenset[int]:
    used = [batch for batches in found.batches for batch in batches] if found else []
    return frozenset(batch for batch in used if used.count(batch) > run.batches[batch].number)


def _searched(sets: VialSets, width: int, bound: Cost | None) -> Found | None:
    run = sets.run
    layer: Layer = {State(tuple(sorted(run.open)), sets.stock()): (Cost(0, 0, 0), None)}
    is_proved = True
    for number in range(len(run.wants)):
        layer = _next_layer(sets, number, layer, bound)
        if len(layer) > width:
            layer, is_proved = _cut(run, number, layer, width), False
    if not layer:
        return None
    cost, path = min(layer.values(), key=lambda reached: reached[0])
    return Found(_unrolled(path), cost, is_proved)


def _next_layer(sets: VialSets, number: int, layer: Layer, bound: Cost | None) -> Layer:
    reached: Layer = {}
    bounds = sets.bounds
    for state, (cost, path) in layer.items():
        for after, total, batches in _ways(sets, number, state, cost):
            if bound is not None and bounds.least(number, after, total) > bound:
                continue
            known = reached.get(after)
            if known is None or total < known[0]:
                reached[after] = (total, Path(path, batches))
    return reached


def _ways(sets: VialSets, number: int, state: State, cost: Cost) -> list[tuple[State, Cost, tuple[int, ...]]]:
    """Return every way to serve a want: the state after it, the cost so far, and what was opened."""
    run = sets.run
    served = run.serve(number, state.open)
    alive = [vessel for vessel in served.left if run.is_wanted(vessel, number)]
    waste = sum(run.lost(vessel) for vessel in served.left if not run.is_wanted(vessel, number))
    punctures = len(served.drawn)
    if not served.short:
        return [(State(tuple(sorted(alive)), state.stock), cost.plus(waste, punctures, 0), ())]
    ways = []
    for opening in sets.openings(run.wants[number].at, served.short, state.stock):
        rest = run.opened(opening.batches[-1], number, opening.left)
        is_wanted = run.is_wanted(rest, number)
        total = cost.plus(
            waste + (0 if is_wanted else run.lost(rest)), punctures + len(opening.batches), opening.price
        )
        ways.append(
            (_after(sets, state, alive, rest if is_wanted else None, opening), total, opening.batches)
        )
    return ways


def _after(sets: VialSets, state: State, alive: list[Vessel], rest: Vessel | None, opening: Opening) -> State:
    standing = alive if rest is None else [*alive, rest]
    return State(tuple(sorted(standing)), sets.taken(state.stock, opening))


def _cut(run: Run, number: int, layer: Layer, width: int) -> Layer:
    """Return the most promising of a layer: what stands open counts half, for some of it will be wasted."""

    def promise(entry: tuple[State, tuple[Cost, Path | None]]) -> tuple[int, Cost, State]:
        state, (cost, _) = entry
        standing = sum(-vessel.left * vessel.cheapness for vessel in state.open)
        return cost.waste + max(standing // 2, run.certain_waste(state.open, number)), cost, state

    return dict(sorted(layer.items(), key=promise)[:width])


def _unrolled(path: Path | None) -> tuple[tuple[int, ...], ...]:
    batches: list[tuple[int, ...]] = []
    while path is not None:
        batches.append(path.batches)
        path = path.before
    return tuple(reversed(batches))
