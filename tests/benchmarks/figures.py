"""How figures are taken and told: medians and tails, ratios of what was measured side by side."""

from __future__ import annotations

import os
import platform
import statistics
import time
from collections.abc import Callable
from typing import NamedTuple


def machine() -> str:
    """Return where and when, and how busy the machine is: figures say nothing without it."""
    one, five, fifteen = os.getloadavg()
    return (
        f"{time.strftime('%Y-%m-%d %H:%M')}, {platform.machine()}, {os.cpu_count()} cores, "
        f"Python {platform.python_version()}, load {one:.1f} {five:.1f} {fifteen:.1f}"
    )


class Took(NamedTuple):
    """Milliseconds of the processor, and by the clock: on a crowded machine only the first compares."""

    worked: float
    clock: float

    def __str__(self) -> str:
        return f"{self.worked:.3g} ms ({self.clock:.3g} by the clock)"


def timed(act: Callable[[], object], times: int) -> Took:
    """Return the medians of so many calls."""
    return side_by_side({"": act}, times)[""]


def side_by_side(acts: dict[str, Callable[[], object]], times: int) -> dict[str, Took]:
    """Call each in turn, again and again, so that what else the machine does weighs on all alike."""
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in acts}
    for _ in range(times):
        for name, act in acts.items():
            worked, clock = time.process_time(), time.perf_counter()
            act()
            taken[name].append((time.process_time() - worked, time.perf_counter() - clock))
    return {
        name: Took(*(1000 * statistics.median(one) for one in zip(*rows, strict=True)))
        for name, rows in taken.items()
    }


def tail(taken: list[float]) -> float:
    """Return the 99th percentile."""
    return sorted(taken)[min(len(taken) - 1, int(len(taken) * 0.99))]


def middle(taken: list[float]) -> float:
    return statistics.median(taken)


def row(what: str, figure: str, floor: str, wanted: str, is_met: bool) -> None:
    """Print one line of the table."""
    print(f"| {what} | {figure} | {floor} | {wanted} | {'yes' if is_met else 'NO'} |", flush=True)


def head(title: str) -> None:
    """Print the head of a table."""
    print(f"\n{title}\n\n| what | measured | floor | wanted | met |\n|---|---|---|---|---|", flush=True)
