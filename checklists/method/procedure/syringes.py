"""Syringes that are the finished units: drawn, capped in numbered places, shown together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from checklists.method.planned import PlannedStep, ampoules_of, opened, shown
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Draw, Transfer, Worksheet


def to_syringes(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Each syringe is itself a unit: capped in its place before the next is drawn, then all are shown."""
    yield from opened(ampoules_of(worksheet, transfer.draws))
    yield from draw_and_cap(worksheet, transfer.draws)
    yield shown(transfer.draws)
    yield PlannedStep("look", {"transfer": transfer.number})


def draw_and_cap(worksheet: Worksheet, draws: Iterable[Draw]) -> Iterator[PlannedStep]:
    """Return the steps that fill each syringe and lay it, capped, in its place."""
    for draw in draws:
        has_filter = int(bool(ampoules_of(worksheet, [draw])))
        yield PlannedStep("draw", {"draw": draw.number})
        yield PlannedStep("cap_syringe", {"draw": draw.number, "has_filter_needle": has_filter})


def labelled(worksheet: Worksheet) -> Iterator[PlannedStep]:
    """Return the steps that put its label on each unit."""
    for unit in range(1, worksheet.units + 1):
        yield PlannedStep("apply_label", {"unit": unit})
