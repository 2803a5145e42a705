"""Counted steps: one unit done at a time, each stamped once; the step ends with its last unit."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from checklists.counting import items_left, one_of
from checklists.models import Stamp, Step
from checklists.refusals import NotThisUnit
from checklists.run.bench import Bench

Given = Mapping[str, str]
Take = Callable[[Bench, Step, Given], dict[str, object]]


def finish_unit(bench: Bench, step: Step, given: Given, take: Take) -> None:
    """Stamp the unit that is being done.

    A unit that is stamped already stays as it is, whatever is sent for it again: a double press counts once.
    """
    asked = given.get("unit", "")
    if step.stamps.filter(unit=_number(asked)).exists():
        return
    left = items_left(step, bench.worksheet)
    if not left or asked != str(left[0].number):
        raise NotThisUnit(asked=asked[:4] or "none", due=str(left[0].number) if left else "none")
    facts = take(bench, one_of(step, left[0]), given)
    stamp(bench, step, left[0].number, "unit done", facts)


def one_now(bench: Bench, step: Step) -> Step:
    """Return the step as it is for the unit that is to be done now."""
    left = items_left(step, bench.worksheet)
    return one_of(step, left[0]) if left else step


def stamp(bench: Bench, step: Step, unit: int, act: str, facts: Mapping[str, object]) -> None:
    """Put one unit's stamp down with its entry in the record."""
    kept = {name: value for name, value in facts.items() if name != "unit"}
    entry = bench.write(act, step=step.kind, place=step.place, unit=unit, **kept)
    Stamp.objects.create(step=step, unit=unit, facts=kept, person=bench.person, at=bench.now, entry=entry)


def end_if_all_done(bench: Bench, step: Step, reason: str = "") -> None:
    """End a counted step whose every unit is done or rejected, with its entry."""
    if not items_left(step, bench.worksheet):
        bench.write("finish", step=step.kind, place=step.place, units=step.stamps.count())
        bench.finish(step, reason=reason)


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 5 else 0
