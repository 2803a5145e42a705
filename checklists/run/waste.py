"""Waste of a controlled medicine: measured by the technician, witnessed by another person's badge and PIN."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import NoReturn

from checklists.controlled import ACT, Remainder, awaiting, remainders, unaccounted
from checklists.method.step_kinds import Takes
from checklists.models import Person, Preparation, Step
from checklists.refusals import (
    NothingToAccountFor,
    WasteAmounts,
    WasteDiffers,
    WasteNotAccounted,
    WitnessIsYou,
    WitnessWanted,
    WrongRole,
)
from checklists.run.bench import Bench, act
from checklists.run.guards import refuse_unless_working
from checklists.run.pins import identify
from checklists.run.signing import WITNESSES
from checklists.run.typed import SHORT_REASON, reason_typed, volume_typed
from compounding.formulary import codes
from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.refusals import Refusal

#: How far a measured amount may be from the reckoned one without a reason; a container is filled a little
#: over its label. Our own, no source.
LEAST_OFF, SHARE_OFF = Decimal("0.1"), Decimal("0.1")


def account_for_waste(
    *,
    code: str,
    person: Person,
    key: str,
    measured: Mapping[str, str],
    reason: str,
    witness: Mapping[str, str],
) -> Preparation:
    """Keep what was measured and destroyed. `witness`: badge, PIN and the address they came from."""
    seen_by = identify(**witness)
    if seen_by.pk == person.pk:
        raise WitnessIsYou(name=person.name)
    return _account(code=code, person=person, key=key, measured=measured, reason=reason, seen_by=seen_by)


@act
def _account(bench: Bench, *, measured: Mapping[str, str], reason: str, seen_by: Person) -> None:
    step = _refuse_unless_due(bench)
    found = remainders(bench.preparation)
    why = reason_typed(reason, SHORT_REASON) if reason.strip() else ""
    amounts = _measured([one for one in found if one.waste], measured, has_reason=bool(why))
    bench.write(
        ACT,
        reckoned={one.container: one.written for one in found if one.waste},
        measured={key: write(volume) for key, volume in amounts.items()},
        given={one.container: write(of(one.given, "mL"), 2) for one in found},
        stays=[one.container for one in found if one.stays],
        reason=why,
        witness=seen_by.name,
        witness_badge=seen_by.badge,
        meaning=WITNESSES,
    )
    if step:
        bench.finish(step, reason=why)


def _refuse_unless_due(bench: Bench) -> Step | None:
    """Return the step that this finishes; without one there must be something left to account for."""
    if bench.person.role != Person.Role.TECHNICIAN:
        raise WrongRole(role=bench.person.role, wanted="technician")
    if bench.preparation.state == Preparation.State.IN_WORK:
        refuse_unless_working(bench)
        step = bench.step
        if step and bench.kind(step).takes is Takes.WITNESS and not bench.is_on_hold:
            return step
    if not any(unaccounted(bench.preparation)) or bench.preparation.state == Preparation.State.IN_WORK:
        raise NothingToAccountFor()
    return None


def _measured(
    found: Iterable[Remainder], typed: Mapping[str, str], *, has_reason: bool
) -> dict[str, Quantity]:
    amounts: dict[str, Quantity] = {}
    faults: dict[str, str] = {}
    for one in found:
        try:
            amounts[one.container] = _amount(one, typed.get(one.container, ""), has_reason=has_reason)
        except Refusal as refusal:
            faults[one.container] = refusal.sentence
    if faults:
        raise WasteAmounts(by_field=faults)
    return amounts


def _amount(one: Remainder, text: str, *, has_reason: bool) -> Quantity:
    volume = of(0, "mL") if text.strip() == "0" else volume_typed(text, of(one.full * 2, "mL"))
    off = abs(number_in(volume, "mL") - one.waste)
    if off > max(LEAST_OFF, one.waste * SHARE_OFF) and not has_reason:
        raise WasteDiffers(reckoned=one.written)
    return volume


def refuse_unwitnessed(person: Person) -> None:
    """Refuse further work to a technician whose discarded work left waste that nobody has witnessed."""
    for preparation in awaiting(Preparation.objects.filter(technician=person)):
        raise WasteNotAccounted(code=codes.grouped(preparation.code))


def by_its_page(bench: Bench, step: Step, given: Mapping[str, str]) -> NoReturn:
    """Refuse to finish the step by a press."""
    raise WitnessWanted()
