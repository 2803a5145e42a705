"""Syringes that are the finished units: drawn, capped in numbered places, shown together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from checklists.method import batch
from checklists.method.planned import PlannedStep, ampoules_of, opened, shown
from checklists.method.procedure.drawing import joined
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Draw, Transfer, Worksheet


def to_syringes(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Each syringe is itself a unit: capped in its place before the next is drawn, then all are shown."""
    yield from opened(ampoules_of(worksheet, transfer.draws))
    yield from draw_and_cap(worksheet, transfer.draws)
    yield shown(transfer.draws)
    yield PlannedStep("look", {"transfer": transfer.number})


def draw_and_cap(worksheet: Worksheet, draws: Iterable[Draw]) -> Iterator[PlannedStep]:
    """Return the steps that fill each syringe and lay it, capped, in its place: of a batch, the one step."""
    chosen = tuple(draws)
    if chosen and batch.is_batch(worksheet):
        for draw in chosen:
            yield from joined(worksheet, draw)
        yield batch.draw_units(worksheet, chosen)
        return
    for draw in chosen:
        has_filter = int(bool(ampoules_of(worksheet, [draw])))
        yield from joined(worksheet, draw)
        yield PlannedStep("draw", {"draw": draw.number})
        yield PlannedStep("cap_syringe", {"draw": draw.number, "has_filter_needle": has_filter})


def labelled(worksheet: Worksheet, units: Iterable[int]) -> Iterator[PlannedStep]:
    """Return the step that puts its label on the unit, or on each of these units of a batch."""
    if batch.is_batch(worksheet):
        yield batch.label_units(worksheet, units)
    else:
        yield PlannedStep("apply_label", {"unit": 1})
