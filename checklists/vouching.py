"""Whether the record of one preparation vouches for a vial that it dissolved and another uses.

One small function a reason why not, as at the gate. No answer means it does.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

from checklists.audit import first_fault
from checklists.collation import differences
from checklists.dissolved import Vial, diluent_draws, done_elsewhere, vials
from checklists.independence import is_maker, read_twice
from checklists.method.mishaps import MISHAPS
from checklists.models import Entry, Preparation
from compounding.formulary.models.products import LotState
from compounding.reckoning.quantities import write
from compounding.reckoning.worksheet import Worksheet

State = Preparation.State
#: Only from these: before, its maker may still need it or mend it; a discarded one vouches for nothing.
VOUCHES = (State.HANDED_OVER, State.RELEASED)


def excused(preparation: Preparation, worksheet: Worksheet) -> set[int]:
    """Return the draws of diluent that were done and agreed in another preparation, as its record stands."""
    done = done_elsewhere(preparation, worksheet)
    sound = [vial for vial in vials(preparation, worksheet) if not any(faults(vial))]
    return {draw.number for vial in sound for draw in vial.draws} & done


def faults(vial: Vial) -> Iterator[str]:
    """Yield, in words, every reason why a vial's having been dissolved there does not count here."""
    for fault in FAULTS:
        yield from fault(vial)


def _unknown(vial: Vial) -> Iterator[str]:
    first = vial.opened.first
    is_known = first.preparation_id == vial.there.pk and first.lot_id == vial.opened.lot_id
    if not (is_known and first.opened_id is None and vial.amounts):
        yield "the record does not say how it was dissolved."


def _hazardous(vial: Vial) -> Iterator[str]:
    if vial.worksheet.hazardous or vial.worksheet_there.hazardous:
        yield "what is hazardous is never shared."


def _otherwise(vial: Vial) -> Iterator[str]:
    """Product, diluent, its volume and the strength are those that this worksheet would make."""
    if vial.amounts and _made(vial.worksheet, vial.key) != _made(vial.worksheet_there, vial.place_there):
        yield f"it is {_strength(vial.worksheet_there, vial.place_there)} there, made otherwise than here."


def _made(worksheet: Worksheet, key: str) -> tuple[object, ...]:
    container = worksheet.container(key)
    draws = diluent_draws(worksheet, key)
    diluents = {worksheet.container(p.container).product for draw in draws for p in draw.sources}
    required = sorted(write(draw.required) for draw in draws)
    return container.product, diluents, required, _strength(worksheet, key)


def _strength(worksheet: Worksheet, key: str) -> str:
    return write(worksheet.ingredients[(worksheet.container(key).ingredient or 1) - 1].strength)


def _not_ended(vial: Vial) -> Iterator[str]:
    if vial.there.state not in VOUCHES:
        state = vial.there.get_state_display()
        yield f"that preparation is {state}; its vials serve others once it is handed over."


def _held(vial: Vial) -> Iterator[str]:
    for hold in vial.there.holds.filter(resolved_at=None):
        yield f"that preparation is on hold: {hold.get_cause_display()}."


def _not_agreed(vial: Vial) -> Iterator[str]:
    for one in vial.amounts:
        if not one.agree:
            yield f"the three amounts of its diluent (draw {one.draw.number}) do not agree there."


def _not_read_twice(vial: Vial) -> Iterator[str]:
    """Two pharmacists read its diluent, where the policy asked for it there or asks for it here."""
    is_asked_here = bool({draw.number for draw in vial.draws} & read_twice(vial.here))
    there = read_twice(vial.there)
    for one in vial.amounts:
        if (is_asked_here or one.draw.number in there) and one.readers < 2:
            yield "its diluent was not read by two pharmacists there."
            return


def _not_independent(vial: Vial) -> Iterator[str]:
    for one in vial.amounts:
        if one.sighting and is_maker(vial.there, one.sighting.person):
            yield f"{one.sighting.person.name} made a part of it and read its diluent."


def _not_made(vial: Vial) -> Iterator[str]:
    added = {one.about["draw"] for one in vial.steps_there if one.kind == "add_diluent_to_vial"}
    is_dissolved = any(one.kind == "dissolve" for one in vial.steps_there)
    if not (is_dissolved and added >= {one.draw.number for one in vial.amounts}):
        yield "it was not dissolved to the end there."


def _set_right(vial: Vial) -> Iterator[str]:
    """An entry about it that was set right since: what was agreed is in doubt, whatever the new words say."""
    amended = [_facts(entry).get("entry") for entry in vial.there.entries.filter(act="amend")]
    for entry in vial.there.entries.filter(number__in=[one for one in amended if isinstance(one, int)]):
        if _is_about(vial, _facts(entry)):
            yield f"entry {entry.number} about it was set right there."


def _is_about(vial: Vial, facts: dict[str, Any]) -> bool:
    draws = {one.draw.number for one in vial.amounts}
    places = {one.place for one in vial.steps_there}
    return (
        facts.get("draw") in draws or facts.get("container") == vial.key_there or facts.get("place") in places
    )


def _went_wrong(vial: Vial) -> Iterator[str]:
    for one in vial.there.mishaps.filter(about=vial.key_there):
        yield f"something went wrong with it there: {_words(one.code)}."


def _words(code: str) -> str:
    words = MISHAPS[code].words if code in MISHAPS else code
    return words[0].lower() + words[1:]


def _diluent_unfit(vial: Vial) -> Iterator[str]:
    for lot in vial.diluent_lots.exclude(state=LotState.AVAILABLE):
        yield f"{lot}, used there, is {lot.get_state_display().lower()}."


def _altered(vial: Vial) -> Iterator[str]:
    if first_fault(vial.there) or any(differences(vial.there)):
        yield "the record of that preparation is not as it was written."


#: In the order in which a person would want to hear them.
FAULTS: tuple[Callable[[Vial], Iterator[str]], ...] = (
    _unknown,
    _hazardous,
    _otherwise,
    _not_ended,
    _held,
    _not_agreed,
    _not_read_twice,
    _not_independent,
    _not_made,
    _set_right,
    _went_wrong,
    _diluent_unfit,
    _altered,
)


def _facts(entry: Entry) -> dict[str, Any]:
    """Return the facts of an entry; none of one that was tampered with: the chain says so."""
    try:
        return dict(json.loads(entry.text)["facts"])
    except (ValueError, KeyError, TypeError):
        return {}
