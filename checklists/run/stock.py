"""Lots received, held back, freed, recalled; a recall stops all work that holds the lot, at once."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone

from checklists import record
from checklists.dissolved import lots_of, preparations_with
from checklists.models import Hold, Person, Preparation
from checklists.refusals import WrongRole
from checklists.run.bench import Bench
from checklists.run.typed import SHORT_REASON, reason_typed
from compounding.formulary import lots
from compounding.formulary.lots import Act, Received
from compounding.formulary.models import Lot
from compounding.formulary.models.products import LotState

#: Anybody may hold a lot back; only these may make it more, or end it.
MAY = {LotState.AVAILABLE: ("pharmacist",), LotState.RECALLED: ("pharmacist", "supervisor")}


def receive_lot(*, text: str, person: Person, key: str) -> Lot:
    """Take in the lot that a scan names."""
    with transaction.atomic(durable=True):
        return lots.receive(text, _act(person, key))


def receive_lots(*, text: str, person: Person, key: str) -> Received:
    """Take in every lot of a file, or none of them."""
    with transaction.atomic(durable=True):
        return lots.receive_file(text, _act(person, key))


def change_lot(*, lot: Lot, to: str, reason: str, person: Person, key: str) -> None:
    """Hold a lot back, free it or recall it, with a reason. A recall stops the work that holds the lot.

    The lot is closed in a transaction of its own, before any work is touched: whoever scans it meanwhile
    has done so before, and is found, or is refused.
    """
    allowed = MAY.get(LotState(to), tuple(Person.Role.values)) if to in LotState.values else ()
    if allowed and person.role not in allowed:
        raise WrongRole(role=person.role, wanted=" or a ".join(allowed))
    why = reason_typed(reason, SHORT_REASON)
    with transaction.atomic(durable=True):
        lots.change(lot, to, why, _act(person, key))
    if to == LotState.RECALLED:
        stop_work_with(lot, person)


def stop_work_with(lot: Lot, person: Person) -> None:
    """Put everything that holds a recalled lot on hold; what is released gets the news on its record."""
    for number in preparations_with(lot):
        with transaction.atomic(durable=True):
            preparation = Preparation.objects.select_for_update(no_key=True).get(pk=number)
            _stop(preparation, person, [lot])


def hold_if_recalled(bench: Bench) -> bool:
    """Stop the work if a lot in it was recalled and nobody has stopped it yet; say whether it was stopped.

    The recall itself stops it; this is for a recall that was cut off half-way.
    """
    recalled = lots_of(bench.preparation).filter(state=LotState.RECALLED).select_related("product")
    return bool(_stop(bench.preparation, bench.person, recalled))


def _stop(preparation: Preparation, person: Person, recalled: Iterable[Lot]) -> int:
    fresh = [lot for lot in recalled if not record.was_done(preparation, _key(lot))]
    for lot in fresh if preparation.state != Preparation.State.DISCARDED else []:
        bench = Bench(preparation, person, timezone.now(), _key(lot))
        last = lot.changes.filter(state=LotState.RECALLED).last()
        note = f"{lot}. {last.reason if last else ''}".strip()
        if preparation.state in (Preparation.State.RELEASED, Preparation.State.ON_PAPER):
            bench.write("lot recalled", lot=lot.number, product=lot.product.name, note=note)
        else:
            bench.open_hold(Hold.Cause.LOT_RECALLED, note=note)
    return len(fresh)


def _key(lot: Lot) -> str:
    return f"recall of lot {lot.pk}"


def _act(person: Person, key: str) -> Act:
    return Act(person.name, timezone.now(), key)
