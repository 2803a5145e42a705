"""Printing labels: one a unit. A second print needs a reason, is counted, and makes the first void."""

from __future__ import annotations

import secrets

from checklists.method.procedure import PlannedStep
from checklists.models import Label
from checklists.run.bench import Bench, act
from checklists.run.guards import refuse_unless_working
from checklists.run.typed import SHORT_REASON, reason_typed
from compounding.formulary import codes


@act
def print_labels(bench: Bench, *, reason: str = "") -> None:
    """Make the labels of every unit; the first time without a reason, from then on with one."""
    refuse_unless_working(bench)
    is_again = bench.preparation.labels.exists()
    print_anew(bench, reason_typed(reason, SHORT_REASON) if is_again or reason.strip() else "")


def print_anew(bench: Bench, why: str) -> None:
    """Make the labels of every unit; those printed before are void, and destroyed."""
    last = bench.preparation.labels.order_by("-print_number").first()
    number = last.print_number + 1 if last else 1
    made = Label.objects.bulk_create(
        Label(
            preparation=bench.preparation,
            code=codes.make("L", secrets.token_bytes(5)),
            unit=unit,
            print_number=number,
            reason=why,
            printed_by=bench.person,
            printed_at=bench.now,
        )
        for unit in range(1, bench.worksheet.units + 1)
    )
    _put_on_again(bench)
    bench.write("print label", number=number, labels=[label.code for label in made], reason=why)


def _put_on_again(bench: Bench) -> None:
    """A label that was scanned back is void now: its unit gets the new one, scanned back in turn."""
    done = bench.preparation.steps.filter(kind="apply_label").exclude(finished_at=None)
    waiting = bench.preparation.steps.filter(kind="apply_label", finished_at=None)
    queued = {step.about["unit"] for step in waiting}
    units = [unit for unit in dict.fromkeys(step.about["unit"] for step in done) if unit not in queued]
    if units:
        bench.put_in_now(PlannedStep("apply_label", {"unit": unit}) for unit in units)
