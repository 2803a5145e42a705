"""Finishing a technician's step: in order, with what its kind takes."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from checklists.method.step_kinds import Takes
from checklists.models import Hood, Label, Preparation, Step
from checklists.refusals import LabelNotPrinted, NotAStepOfYours
from checklists.run import batches, counted, drawing, dwelling, garbing, lapsed, opened, scanned, waste
from checklists.run.bench import Bench, act
from checklists.run.guards import makers_step
from checklists.run.kept import Kept
from checklists.run.kept import take as take_kept
from checklists.run.stock import hold_if_recalled

Given = Mapping[str, str]


def _nothing(bench: Bench, step: Step, given: Given) -> dict[str, object]:
    return {}


def _printed(bench: Bench, step: Step, given: Given) -> dict[str, object]:
    count = Label.objects.filter(preparation=bench.preparation).count()
    if count < bench.worksheet.units:
        raise LabelNotPrinted()
    return {"labels": count}


#: What finishing takes. A checker's kinds are not here: nobody else finishes them.
TAKING: dict[Takes, Callable[[Bench, Step, Given], dict[str, object]]] = {
    Takes.NOTHING: _nothing,
    Takes.PRINT: _printed,
    Takes.SCAN_CONTAINER: scanned.container,
    Takes.SCAN_HOOD: scanned.hood,
    Takes.SCAN_LABEL: scanned.label,
    Takes.DWELL: dwelling.dwelt,
    Takes.READING: drawing.read_draw,
    Takes.COUNTS: batches.reconcile,
    Takes.WITNESS: waste.by_its_page,
}


@act
def finish_step(bench: Bench, *, place: int, given: Given, kept: Kept | None = None) -> None:
    """Finish the step at `place`. `given` is what was typed, scanned or pressed; `kept`: without network."""
    if kept:
        take_kept(bench, kept, _finish, place=place, given=given)
    else:
        _finish(bench, place=place, given=given)


def _finish(bench: Bench, *, place: int, given: Given) -> None:
    step = makers_step(bench, place)
    if hold_if_recalled(bench):
        return
    kind = bench.kind(step)
    take = TAKING.get(kind.takes)
    if take is None:
        raise NotAStepOfYours()
    lapsed.refuse_over(bench, counted.one_now(bench, step) if kind.is_counted else step)
    if lapsed.put_in_first(bench, step):
        return
    if kind.is_counted:
        counted.finish_unit(bench, step, given, take)
        counted.end_if_all_done(bench, step)
        return
    facts = take(bench, step, given)
    bench.write("finish", step=step.kind, place=step.place, **facts)
    if step.kind in AFTERWARDS:
        AFTERWARDS[step.kind](bench)
    bench.finish(step, reason=str(facts.get("reason", "")))


def _wiped(bench: Bench) -> None:
    if bench.preparation.hood:
        Hood.objects.filter(pk=bench.preparation.hood.pk).update(surface_wiped_at=bench.when)


def _free(bench: Bench) -> None:
    """Clean-up ends the technician's work: technician and hood are free."""
    _wiped(bench)
    preparation = bench.preparation
    preparation.hood, preparation.state = None, Preparation.State.HANDED_OVER
    preparation.handed_over_at = bench.when
    preparation.save(update_fields=["hood", "state", "handed_over_at"])


def _runs(bench: Bench) -> None:
    """The hood runs again: its warm-up is counted from now."""
    Hood.objects.filter(made_here=bench.preparation).update(running_since=bench.when)


#: What else follows from finishing a kind.
AFTERWARDS: dict[str, Callable[[Bench], None]] = {
    "wipe_surface": _wiped,
    "dispose": opened.put_away,
    "clean_up": _free,
    "restart_hood": _runs,
    "put_on_gloves": garbing.put_on,
}
