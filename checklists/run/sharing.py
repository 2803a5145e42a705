"""A vial that was dissolved for another preparation: what dissolving it takes here ends by itself.

Taken only as its own record stands (`checklists.dissolved`), and looked at again before each draw from it.
"""

from __future__ import annotations

from decimal import Decimal

from checklists import dissolved, vouching
from checklists.agreeing import Amounts
from checklists.dissolved import Vial
from checklists.method.shortened import Done, shortened
from checklists.models import OpenedContainer, Step
from checklists.refusals import ContainerDiscarded, DissolvedNoMore, NotEnoughLeft
from checklists.remains import Remains
from checklists.run.bench import Bench
from checklists.run.opened import moment
from compounding.formulary import codes
from compounding.reckoning.quantities import number_in, of, write


def refuse_unfit(bench: Bench, key: str, opened: OpenedContainer) -> None:
    """Refuse a vial whose being dissolved for another preparation does not count for this one."""
    _refuse(Vial(bench.preparation, bench.worksheet, key, opened))


def refuse_fallen(bench: Bench, number: int) -> None:
    """Refuse a draw from a vial that was dissolved elsewhere, and of which something became known since."""
    found = dissolved.vials(bench.preparation, bench.worksheet)
    if not found:
        return
    needed = {
        one.container: number_in(one.volume, "mL") for one in Remains(bench.preparation).draw(number).sources
    }
    for vial in found:
        if vial.key in needed:
            _refuse(vial)
            _refuse_spent(vial.opened, needed[vial.key])


def _refuse(vial: Vial) -> None:
    for fault in vouching.faults(vial):
        product, code = vial.opened.lot.product.name, codes.grouped(vial.there.code)
        raise DissolvedNoMore(product=product, code=code, why=fault)


def _refuse_spent(opened: OpenedContainer, needed: Decimal) -> None:
    name = opened.lot.product.name
    if opened.discarded_at:
        raise ContainerDiscarded(product=name, discarded=moment(opened.discarded_at))
    if opened.left_ml < needed:
        raise NotEnoughLeft(
            product=name, left=write(of(opened.left_ml, "mL")), wanted=write(of(needed, "mL"))
        )


def end_steps(bench: Bench, key: str, opened: OpenedContainer) -> None:
    """End every step that dissolves the vial, and the gathering of diluent that nothing takes any more."""
    vial = Vial(bench.preparation, bench.worksheet, key, opened)
    code = codes.grouped(vial.there.code)
    done = Done(
        key,
        frozenset(draw.number for draw in vial.draws),
        frozenset(dissolved.without_use(bench.preparation, bench.worksheet)),
    )
    bench.write(
        "dissolved before",
        container=key,
        opened=opened.code,
        preparation=vial.there.code,
        amounts=[_told(one) for one in vial.amounts],
        ended=_end(bench, done, f"dissolved for {code}"),
        because=f"{key} was dissolved for {code}, where the amounts of its diluent agreed",
    )


def _end(bench: Bench, done: Done, why: str) -> list[str]:
    """Shorten or end what is still to come; return the kinds of the steps that ended."""
    here, ended = bench.step, []
    for step in bench.preparation.steps.filter(finished_at=None):
        about = shortened(step.kind, step.about, done) if step != here else step.about
        if about is None:
            ended.append(step.kind)
            _finish(bench, step, why)
        elif about != step.about:
            step.about = about
            step.save(update_fields=["about"])
    return ended


def _finish(bench: Bench, step: Step, why: str) -> None:
    step.finished_at, step.finished_by, step.reason = bench.now, bench.person, why
    step.save(update_fields=["finished_at", "finished_by", "reason"])


def _told(one: Amounts) -> dict[str, object]:
    """Return what agreed there, for a reader of this record; the gate looks it up there again."""
    assert one.reading is not None
    assert one.sighting is not None
    return {
        "draw": one.draw.number,
        "required": write(one.draw.target),
        "drawn": write(of(one.reading.volume_ml, "mL")),
        "drawn_by": one.reading.person.name,
        "seen": write(of(one.sighting.volume_ml, "mL")),
        "seen_by": one.sighting.person.name,
    }
