"""Can a list be made by its due times? The same afternoon played many times with durations as they were.

A plain list of events, no library: a few dozen preparations, begun in the order of their due times, each
holding a person and a hood until it is handed over. Lengths are drawn from what was measured; breaks and who
works faster are left out. Checks are not queued for: how long they were waited for is within the lengths.
"""

from __future__ import annotations

import heapq
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from checklists.measures.spread import quantile
from checklists.measures.tallies import MIDDLES, Tally

#: How often the afternoon is played, and the seed of all chance: the same list gets the same forecast.
PLAYS, SEED = 400, 1


@dataclass(frozen=True)
class Job:
    """One preparation to be made: by when, in milliseconds from now, and how long such ones took."""

    name: str
    due: float
    lengths: Tally
    #: How long of that, at the end, holds neither a person nor a hood.
    after: float = 0
    is_hazardous: bool = False
    is_begun: bool = False


@dataclass(frozen=True)
class Bench:
    """What there is to make them with: hoods, those of them that take hazardous drugs, and technicians."""

    hoods: int
    hazardous_hoods: int
    people: int


@dataclass(frozen=True)
class Outlook:
    """When one will be ready in one of ten plays, in half, in nine of ten; in which share in time."""

    name: str
    early: float
    middle: float
    late: float
    in_time: float


@dataclass(frozen=True)
class Forecast:
    """Every preparation's outlook, and in which share of all plays the whole list was in time."""

    outlooks: tuple[Outlook, ...]
    all_in_time: float
    plays: int


def forecast(jobs: Sequence[Job], bench: Bench, plays: int = PLAYS) -> Forecast | None:
    """Return the forecast of a list made in the order of its due times; None of nothing, or with nobody."""
    if not jobs or not bench.people or not bench.hoods:
        return None
    chance = random.Random(SEED)
    ordered = sorted(jobs, key=lambda job: (not job.is_begun, job.due))
    drawn = {job.name: _sampler(job.lengths) for job in ordered}
    ends: dict[str, list[float]] = {job.name: [] for job in ordered}
    whole = 0
    for _ in range(plays):
        ready = _played(ordered, bench, drawn, chance)
        whole += all(ready[job.name] <= job.due for job in ordered)
        for name, end in ready.items():
            ends[name].append(end)
    return Forecast(tuple(_outlook(job, sorted(ends[job.name])) for job in ordered), whole / plays, plays)


Sampler = tuple[list[float], list[int]]


def _sampler(lengths: Tally) -> Sampler:
    steps = sorted(lengths.items())
    return [MIDDLES[step] for step, _count in steps], [count for _step, count in steps]


def _played(
    jobs: Sequence[Job], bench: Bench, drawn: Mapping[str, Sampler], chance: random.Random
) -> dict[str, float]:
    """Return when each is ready: it takes a person and a hood that fits, whichever is free first."""
    people = [0.0] * bench.people
    plain = [0.0] * (bench.hoods - bench.hazardous_hoods)
    closed = [0.0] * bench.hazardous_hoods
    ready = {}
    for job in jobs:
        hoods = _hoods(job, plain, closed)
        start = max(heapq.heappop(people), heapq.heappop(hoods))
        times, counts = drawn[job.name]
        end = start + (chance.choices(times, counts)[0] if times else 0)
        free = max(end - job.after, start)
        heapq.heappush(people, free)
        heapq.heappush(hoods, free)
        ready[job.name] = end
    return ready


def _hoods(job: Job, plain: list[float], closed: list[float]) -> list[float]:
    """Return the hoods to take one from: a hazardous drug has its own, others theirs first."""
    if job.is_hazardous and closed:
        return closed
    return plain if plain and (not closed or plain[0] <= closed[0]) else closed


def _outlook(job: Job, ends: Sequence[float]) -> Outlook:
    early, middle, late = (quantile(ends, share) for share in (0.1, 0.5, 0.9))
    in_time = sum(end <= job.due for end in ends) / len(ends)
    return Outlook(job.name, early, middle, late, in_time)
