"""Draws shown by photograph: taken at the hood, and asked for anew by a checker who cannot read one."""

from __future__ import annotations

from checklists import darkroom
from checklists.counting import unread_items
from checklists.independence import latest_attempts, readable, refusals_of
from checklists.method.step_kinds import Takes
from checklists.models import Photograph, Step, Unreadable
from checklists.refusals import NoSuchPhotograph, OutOfOrder, PhotographWanted
from checklists.run.bench import Bench, act
from checklists.run.guards import checkers_step, refuse_on_hold, refuse_unless_working


@act
def photograph(bench: Bench, *, place: int, picture: bytes) -> None:
    """Keep a photograph of the syringes that are being shown. The program adds nothing to it."""
    refuse_unless_working(bench)
    refuse_on_hold(bench)
    step = bench.step
    if step is None or step.place != place or bench.kind(step).takes is not Takes.SIGHTING:
        raise OutOfOrder()
    name, sha256 = darkroom.keep(darkroom.developed(picture))
    try:
        _keep(bench, step, name, sha256)
    except BaseException:
        darkroom.throw_away(name)
        raise


def _keep(bench: Bench, step: Step, name: str, sha256: str) -> None:
    attempts = latest_attempts(bench.preparation)
    left = (item.draw for item in unread_items(step, bench.worksheet))
    draws = [draw for draw in left if draw in attempts]
    Photograph.objects.create(
        preparation=bench.preparation,
        step=step,
        draws=draws,
        attempts=[attempts[draw] for draw in draws],
        file=name,
        sha256=sha256,
        taken_by=bench.person,
        at=bench.now,
    )
    bench.write(
        "photograph", place=step.place, draws=draws, attempts=[attempts[draw] for draw in draws], file=name,
        sha256=sha256,
    )  # fmt: skip


@act
def ask_anew(bench: Bench, *, place: int, wants: str) -> None:
    """Say that the photographs shown cannot be read: another is taken, or the syringes are read in person."""
    step = checkers_step(bench, place)
    shown = readable(step, bench.preparation)
    if bench.kind(step).takes is not Takes.SIGHTING or wants not in Unreadable.Wants.values or not shown:
        raise NoSuchPhotograph()
    Unreadable.objects.bulk_create(
        Unreadable(photograph=one, wants=wants, person=bench.person, at=bench.now) for one in shown
    )
    bench.write("cannot read photograph", place=place, wants=wants, files=[one.file for one in shown])


def refuse_without_photograph(bench: Bench, step: Step) -> None:
    """Where the site wants a photograph of every draw, refuse a reading without one, unless in person."""
    if not bench.policy.wants_photograph or readable(step, bench.preparation):
        return
    if not any(one.wants == Unreadable.Wants.IN_PERSON for one in refusals_of(step)):
        raise PhotographWanted()
