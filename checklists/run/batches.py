"""Batches: a unit that is lost or spoiled, and the reconciliation before the batch is handed over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from checklists.counting import items_left, live_units, unread_items
from checklists.method.batch import is_batch, unit_of
from checklists.method.planned import PlannedStep
from checklists.method.reconciling import faults
from checklists.method.step_kinds import Takes
from checklists.models import Rejection, Step
from checklists.refusals import DoesNotAddUp, LastUnit, NoSuchUnit, NotCounted, OutOfOrder
from checklists.run.bench import Bench, act
from checklists.run.checks import compare_when_all_seen
from checklists.run.counted import end_if_all_done
from checklists.run.guards import checkers_step, refuse_on_hold, refuse_unless_working
from checklists.run.typed import SHORT_REASON, reason_typed
from checklists.tallying import last_count, tally
from compounding.reckoning.quantities import of, write

ALL_REJECTED = "every unit of it was rejected"


@act
def reject_unit(bench: Bench, *, unit: int, reason: str) -> None:
    """Reject one unit of a batch, with a reason: its labels are void, and the batch goes on without it."""
    refuse_unless_working(bench)
    refuse_on_hold(bench)
    if not is_batch(bench.worksheet) or unit not in live_units(bench.preparation, bench.worksheet):
        raise NoSuchUnit(units=", ".join(map(str, live_units(bench.preparation, bench.worksheet))))
    reject(bench, [unit], reason_typed(reason, SHORT_REASON))
    _settle(bench)
    again = reconciled_anew(bench)
    if again:
        bench.put_in_now(again)


@act
def reject_inspected(bench: Bench, *, place: int, unit: int, reason: str) -> None:
    """Reject one unit at the final check: it is destroyed with its label, and the batch is counted anew.

    What the technician counted is not asked again: the checker, who stands before it, takes one unit and one
    label from there.
    """
    step = checkers_step(bench, place)
    count = last_count(bench.preparation)
    live = live_units(bench.preparation, bench.worksheet)
    if bench.kind(step).takes is not Takes.INSPECTION or count is None:
        raise OutOfOrder()
    if not is_batch(bench.worksheet) or unit not in live:
        raise NoSuchUnit(units=", ".join(map(str, live)))
    reject(bench, [unit], reason_typed(reason, SHORT_REASON))
    _count(bench, count.in_hand - 1, count.destroyed + 1)


def reject(bench: Bench, units: Iterable[int], why: str) -> None:
    """Put the rejection of these units down. Something must be left of the batch."""
    chosen = sorted(set(units))
    if set(chosen) >= set(live_units(bench.preparation, bench.worksheet)):
        raise LastUnit()
    for unit in chosen:
        entry = bench.write("reject unit", unit=unit, reason=why)
        Rejection.objects.create(
            preparation=bench.preparation,
            unit=unit,
            reason=why,
            person=bench.person,
            at=bench.now,
            entry=entry,
        )


def units_of_draws(bench: Bench, draws: Iterable[int]) -> list[int]:
    """Return the units, not rejected yet, that these draws belong to."""
    live = live_units(bench.preparation, bench.worksheet)
    units = {unit_of(bench.worksheet.draw(number)) for number in draws}
    return [unit for unit in live if unit in units]


def _settle(bench: Bench) -> None:
    """End the steps that have nothing left to do since a unit fell out."""
    while (step := bench.step) and not bench.is_on_hold:
        kind = bench.kind(step)
        if kind.is_counted and not items_left(step, bench.worksheet):
            end_if_all_done(bench, step, "" if step.stamps.exists() else ALL_REJECTED)
        elif kind.takes is Takes.SIGHTING and not unread_items(step, bench.worksheet):
            compare_when_all_seen(bench, step)
        else:
            return


def reconciled_anew(bench: Bench) -> list[PlannedStep]:
    """Return the step that reconciles again, if the batch was reconciled and none is still to come."""
    steps = bench.preparation.steps.filter(kind="reconcile")
    is_over = steps.exists() and not steps.filter(finished_at=None).exists()
    return [PlannedStep("reconcile", {})] if is_over else []


def reconcile(bench: Bench, step: Step, given: Mapping[str, str]) -> dict[str, object]:
    """Take what was counted by hand; refuse, in words, what does not add up."""
    _count(bench, _typed(given.get("in_hand", "")), _typed(given.get("destroyed", "")))
    return {}


def _count(bench: Bench, in_hand: int, destroyed: int) -> None:
    found = tally(bench.preparation, bench.worksheet, in_hand=in_hand, destroyed=destroyed)
    wrong = list(faults(found))
    if wrong:
        raise DoesNotAddUp(what=" ".join(wrong))
    bench.write(
        "reconcile",
        planned=found.planned,
        rejected=found.rejected,
        drawn=found.drawn,
        labelled=found.labelled,
        in_hand=found.in_hand,
        printed=found.printed,
        destroyed=found.destroyed,
        remaining={name: write(of(volume, "mL")) for name, volume in found.remaining},
        **{"yield": found.yield_percent},
    )


def _typed(text: str) -> int:
    typed = text.strip()
    if not (typed.isascii() and typed.isdecimal() and len(typed) < 5):
        raise NotCounted()
    return int(typed)
