"""Reasons in the order of their number: the few that make up most stand first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Bar:
    """One reason: how often, and which share (0 to 1) it makes up together with all before it."""

    name: str
    count: int
    running: float


def pareto(counts: Mapping[str, int]) -> tuple[Bar, ...]:
    """Return the reasons that occurred, the most frequent first; alike ones by name."""
    ordered = sorted(
        ((name, count) for name, count in counts.items() if count > 0), key=lambda one: (-one[1], one[0])
    )
    whole, passed, bars = sum(count for _name, count in ordered), 0, []
    for name, count in ordered:
        passed += count
        bars.append(Bar(name, count, passed / whole))
    return tuple(bars)


def vital_few(bars: tuple[Bar, ...], share: float = 0.8) -> int:
    """Return how many of the first reasons make up at least that share together."""
    return next((place for place, bar in enumerate(bars, 1) if bar.running >= share), len(bars))
