"""Printing labels: one a unit. A second print, of all or of one, needs a reason and makes the first void."""

from __future__ import annotations

import secrets
from collections.abc import Collection, Iterable

from checklists import labelled as label_words
from checklists.counting import items_left, live_units
from checklists.method.chain import fingerprint
from checklists.method.procedure import labelled
from checklists.models import Label, Step
from checklists.refusals import NoSuchUnit
from checklists.run.batches import reconciled_anew
from checklists.run.bench import Bench, act
from checklists.run.guards import refuse_unless_working
from checklists.run.typed import SHORT_REASON, reason_typed
from compounding.formulary import codes


@act
def print_labels(bench: Bench, *, reason: str = "", unit: int | None = None) -> None:
    """Make the labels of every unit, or of one; the first time without a reason, from then on with one."""
    refuse_unless_working(bench)
    live = live_units(bench.preparation, bench.worksheet)
    is_again = bench.preparation.labels.exists()
    if unit is not None and (unit not in live or not is_again):
        raise NoSuchUnit(units=", ".join(map(str, live)))
    why = reason_typed(reason, SHORT_REASON) if is_again or reason.strip() else ""
    print_anew(bench, why, live if unit is None else [unit])


def print_anew(bench: Bench, why: str, units: Collection[int]) -> None:
    """Make the labels of these units; those printed of them before are void, and destroyed."""
    last = bench.preparation.labels.order_by("-print_number").first()
    number = last.print_number + 1 if last else 1
    made = Label.objects.bulk_create(
        Label(
            preparation=bench.preparation,
            code=codes.make("L", secrets.token_bytes(5)),
            unit=unit,
            print_number=number,
            reason=why,
            words=label_words.plain(label_words.text_of(bench.preparation, bench.worksheet, unit)),
            printed_by=bench.person,
            printed_at=bench.now,
        )
        for unit in sorted(units)
    )
    _put_on_again(bench, units)
    bench.write(
        "print label",
        number=number,
        units=[label.unit for label in made],
        labels=[label.code for label in made],
        fingerprints=[fingerprint({"words": label.words}) for label in made],
        reason=why,
    )


def _put_on_again(bench: Bench, units: Collection[int]) -> None:
    """A label that was scanned back is void now: its unit gets the new one, scanned back in turn."""
    steps = bench.preparation.steps.filter(kind__in=("apply_label", "label_units"))
    queued = {unit for step in steps.filter(finished_at=None) for unit in _waiting(bench, step)}
    done = [unit for step in steps for unit in _done(step) if unit in units and unit not in queued]
    if done:
        bench.put_in_now([*labelled(bench.worksheet, sorted(set(done))), *reconciled_anew(bench)])


def _done(step: Step) -> Iterable[int]:
    """Return the units whose label was scanned back at this step."""
    if step.kind == "label_units":
        return list(step.stamps.values_list("unit", flat=True))
    return [step.about["unit"]] if step.finished_at else []


def _waiting(bench: Bench, step: Step) -> Iterable[int]:
    """Return the units that this step has still to label."""
    if step.kind == "label_units":
        return [item.number for item in items_left(step, bench.worksheet)]
    return [step.about["unit"]]
