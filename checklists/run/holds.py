"""Holds: raised by whoever sees something wrong, resolved only by a pharmacist, with a reason and a PIN."""

from __future__ import annotations

from collections.abc import Callable

from checklists.counting import live_units
from checklists.independence import disclose
from checklists.method import procedure
from checklists.method.batch import alike, is_batch, unit_of
from checklists.method.procedure import PlannedStep
from checklists.models import Hold, Preparation
from checklists.refusals import NoSuchHold, NotAResolution
from checklists.remains import account
from checklists.run import lapsed
from checklists.run.batches import reject, units_of_draws
from checklists.run.bench import Bench, act
from checklists.run.changes import is_same_work
from checklists.run.guards import refuse_unless_independent, refuse_unless_working
from checklists.run.pins import TriedPin
from checklists.run.signing import RESOLVES, refuse_wrong_pin
from checklists.run.typed import SHORT_REASON, reason_typed
from compounding.reckoning.worksheet import from_plain

Cause, Resolution = Hold.Cause, Hold.Resolution

#: How each cause may be resolved. A difference is never accepted, whatever the reason.
RESOLUTIONS: dict[str, tuple[Hold.Resolution, ...]] = {
    Cause.AMOUNTS_DIFFER: (
        Resolution.DRAW_AGAIN,
        Resolution.READ_AGAIN,
        Resolution.REJECT,
        Resolution.DISCARD,
    ),
    Cause.CANNOT_READ: (Resolution.READ_AGAIN, Resolution.DRAW_AGAIN, Resolution.REJECT, Resolution.DISCARD),
    Cause.RECALCULATION_DIFFERS: (Resolution.CHECK_AGAIN, Resolution.DISCARD),
    Cause.CHECK_REFUSED: (Resolution.CHECK_AGAIN, Resolution.DISCARD),
    Cause.SOMETHING_WRONG: (Resolution.CARRY_ON, Resolution.DISCARD),
    Cause.ORDER_CHANGED: (Resolution.CARRY_ON, Resolution.DISCARD),
    Cause.ORDER_CANCELLED: (Resolution.DISCARD,),
    Cause.LOT_RECALLED: (Resolution.DISCARD,),
    Cause.KEPT_REFUSED: (Resolution.CARRY_ON, Resolution.DISCARD),
}


def resolutions(hold: Hold) -> tuple[Hold.Resolution, ...]:
    """Return how this hold may be resolved: changed work goes on only if nothing that is made changed."""
    allowed = RESOLUTIONS[hold.cause]
    if hold.cause == Cause.ORDER_CHANGED and not is_same_work(hold.preparation):
        return (Resolution.DISCARD,)
    return tuple(way for way in allowed if way != Resolution.REJECT or _can_reject(hold))


def _can_reject(hold: Hold) -> bool:
    """Say whether a batch could go on without the units that the hold is about."""
    worksheet = from_plain(hold.preparation.worksheet)
    units = {unit_of(worksheet.draw(number)) for number in hold.draws}
    is_of_units = is_batch(worksheet) and bool(units) and 0 not in units
    return is_of_units and bool(set(live_units(hold.preparation, worksheet)) - units)


@act
def raise_hold(bench: Bench, *, note: str) -> None:
    """Something is wrong: the technician stops the work and says what."""
    refuse_unless_working(bench)
    bench.open_hold(Cause.SOMETHING_WRONG, note=reason_typed(note))


@act
def see_hold(bench: Bench, *, hold: int) -> None:
    """Open a hold with its amounts: from now on this person cannot read those draws blind."""
    refuse_unless_independent(bench)
    found = _open_hold(bench, hold)
    disclose(bench.preparation, alike(bench.worksheet, found.draws), bench.person, bench.now)
    bench.write("see hold", cause=found.cause, draws=found.draws)


@act
def see_compared(bench: Bench, *, place: int) -> None:
    """Show a checker the three amounts of the step just read: from now on they are known to this person."""
    refuse_unless_independent(bench)
    step = bench.preparation.steps.get(place=place)
    disclose(bench.preparation, alike(bench.worksheet, step.about["draws"]), bench.person, bench.now)
    bench.write("see amounts", draws=step.about["draws"])


@act
def resolve(bench: Bench, *, hold: int, resolution: str, reason: str, pin: TriedPin) -> None:
    """Let the work go on, or end it: by a pharmacist who made no part of it, with a reason, signed."""
    refuse_unless_independent(bench)
    found = _open_hold(bench, hold)
    if resolution not in resolutions(found):
        raise NotAResolution(cause=found.get_cause_display())
    why = reason_typed(reason)
    refuse_wrong_pin(pin)
    found.resolution, found.reason = resolution, why
    found.resolved_by, found.resolved_at = bench.person, bench.now
    found.save()
    bench.write(
        "resolve",
        cause=found.cause,
        resolution=resolution,
        reason=found.reason,
        meaning=RESOLVES,
    )
    EFFECTS[resolution](bench, found)
    bench.start_next()
    lapsed.mend_after_hold(bench)


def _open_hold(bench: Bench, number: int) -> Hold:
    found = bench.preparation.holds.filter(pk=number, resolved_at=None).first()
    if found is None:
        raise NoSuchHold()
    return found


def _draw_again(bench: Bench, hold: Hold) -> None:
    bench.put_in(procedure.draw_again(bench.worksheet, hold.draws, bench.policy))


def _read_again(bench: Bench, hold: Hold) -> None:
    bench.put_in(procedure.read_again(hold.draws))


def _check_again(bench: Bench, hold: Hold) -> None:
    if hold.step:
        bench.put_in([PlannedStep(hold.step.kind, hold.step.about)])


def _carry_on(bench: Bench, hold: Hold) -> None:
    """After a change that leaves the work as it is, the preparation belongs to the order that took over."""
    order = bench.preparation.order
    while order.state == "superseded":
        order = order.superseded_by
    if order != bench.preparation.order:
        bench.preparation.order = order
        bench.preparation.save(update_fields=["order"])
        bench.write("adopt order", order=order.number)


def _reject(bench: Bench, hold: Hold) -> None:
    """Go on without the units that differ or that nobody can read."""
    reject(bench, units_of_draws(bench, hold.draws), hold.reason[:SHORT_REASON])


def _discard(bench: Bench, hold: Hold) -> None:
    """End the preparation: every hold with it. The hood stays its own until everything is taken out."""
    preparation = bench.preparation
    preparation.state, preparation.ended_at = Preparation.State.DISCARDED, bench.now
    preparation.save(update_fields=["state", "ended_at"])
    preparation.holds.filter(resolved_at=None).update(
        resolution=Resolution.DISCARD, reason=hold.reason, resolved_by=bench.person, resolved_at=bench.now
    )
    bench.write("discard", reason=hold.reason, **account(preparation))


EFFECTS: dict[str, Callable[[Bench, Hold], None]] = {
    Resolution.DRAW_AGAIN: _draw_again,
    Resolution.READ_AGAIN: _read_again,
    Resolution.CHECK_AGAIN: _check_again,
    Resolution.CARRY_ON: _carry_on,
    Resolution.REJECT: _reject,
    Resolution.DISCARD: _discard,
}
