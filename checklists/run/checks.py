"""The checker's acts: first check, reading a syringe blind, final inspection, refusing one of them."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from checklists.counting import rejected_draws, unread_items
from checklists.independence import also_seen, latest_sightings
from checklists.method.agreement import compare, recalculation_agrees
from checklists.method.second_reading import is_second
from checklists.method.step_kinds import Takes
from checklists.models import Hold, Reading, Recalculation, Sighting, Step
from checklists.refusals import (
    CautionsWithoutReason,
    ChecksByField,
    MaterialsNotSeen,
    NotDrawnYet,
    NotInspected,
    OutOfOrder,
    SeenAlready,
)
from checklists.run.bench import Bench, act
from checklists.run.counted import stamp
from checklists.run.guards import checkers_step, refuse_if_seen, refuse_if_shown
from checklists.run.photographs import refuse_without_photograph
from checklists.run.typed import LONGEST_REASON, SHORT_REASON, reason_typed, volume_typed
from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.refusals import Refusal

#: What a final inspection states, each on its own. Standards: release inspection, USP <797> (2023), memory.
INSPECTED = ("as_ordered", "clear", "sound", "used")

MOST = of("10000", "mL")


@act
def take_check(bench: Bench, *, place: int) -> None:
    """Say that this pharmacist is at the check. Another may take it over: the last to take it is named."""
    step = checkers_step(bench, place)
    step.taken_at, step.taken_by = step.taken_at or bench.now, bench.person
    step.save(update_fields=["taken_at", "taken_by"])
    bench.write("take check", step=step.kind, place=place)


@act
def recalculate(
    bench: Bench,
    *,
    place: int,
    volumes: Mapping[int, str],
    has_seen_materials: bool,
    reasons: Mapping[str, str] | None = None,
) -> None:
    """First check: every transfer's volume worked out from the order, a reason for each caution by its code,
    and the materials seen.
    """
    step = _checked(bench, place, Takes.RECALCULATION)
    refuse_if_shown(bench)
    typed, given = _all_typed(bench, volumes, reasons or {})
    if not has_seen_materials:
        raise MaterialsNotSeen()
    attempt = bench.preparation.recalculations.values("attempt").distinct().count() + 1
    answers = [_recalculated(bench, number, volume, attempt) for number, volume in typed.items()]
    differing = [answer.transfer for answer in answers if not answer.agrees]
    bench.write(
        "first check",
        attempt=attempt,
        volumes={str(number): write(volume) for number, volume in typed.items()},
        differing=differing,
        reasons=given,
    )
    if differing:
        bench.open_hold(Hold.Cause.RECALCULATION_DIFFERS, draws=_draws_of(bench, differing), step=step)
    bench.finish(step)


def _all_typed(
    bench: Bench, volumes: Mapping[int, str], reasons: Mapping[str, str]
) -> tuple[dict[int, Quantity], dict[str, str]]:
    """Read every transfer's volume and every caution's reason; refuse all together, so that nothing typed is
    lost.
    """
    typed: dict[int, Quantity] = {}
    given: dict[str, str] = {}
    unread: dict[str, str] = {}
    without: dict[str, str] = {}
    for transfer in bench.worksheet.transfers:
        try:
            typed[transfer.number] = volume_typed(volumes.get(transfer.number, ""), MOST)
        except Refusal as refusal:
            unread[f"volume_{transfer.number}"] = refusal.sentence
    for caution in bench.worksheet.cautions:
        try:
            given[caution.code] = reason_typed(reasons.get(caution.code, ""))
        except Refusal as refusal:
            without[f"reason_{caution.code}"] = refusal.sentence
    if unread:
        raise ChecksByField(by_field=unread | without)
    if without:
        raise CautionsWithoutReason(by_field=without)
    return typed, given


def _recalculated(bench: Bench, number: int, volume: Quantity, attempt: int) -> Recalculation:
    transfer = next(t for t in bench.worksheet.transfers if t.number == number)
    return Recalculation.objects.create(
        preparation=bench.preparation,
        transfer=number,
        attempt=attempt,
        volume_ml=number_in(volume, "mL"),
        agrees=recalculation_agrees(transfer, volume),
        person=bench.person,
        at=bench.now,
    )


def _draws_of(bench: Bench, transfers: list[int]) -> list[int]:
    return [draw.number for draw in bench.worksheet.draws if draw.transfer in transfers]


@act
def sight_draw(bench: Bench, *, place: int, draw: int, typed: str) -> None:
    """Keep what the checker read off a syringe. When the last of the step is read, the machine compares."""
    step = _checked(bench, place, Takes.SIGHTING)
    reading = _reading(bench, step, draw)
    refuse_without_photograph(bench, step)
    planned = bench.worksheet.draw(draw)
    _sight(bench, step, reading, volume_typed(typed, planned.syringe.size))
    compare_when_all_seen(bench, step)


@act
def cannot_read(bench: Bench, *, place: int, draw: int, reason: str) -> None:
    """Pass one syringe over that cannot be read, with a reason. The others are read; then the work stops."""
    step = _checked(bench, place, Takes.SIGHTING)
    _reading(bench, step, draw)
    why = reason_typed(reason, SHORT_REASON)
    item = next(item for item in unread_items(step, bench.worksheet) if item.draw == draw)
    stamp(bench, step, item.number, "cannot read", {"draw": draw, "reason": why})
    compare_when_all_seen(bench, step)


def _reading(bench: Bench, step: Step, draw: int) -> Reading:
    """Return what was drawn into a syringe of this step that this person may read now."""
    refuse_if_seen(bench, draw)
    if draw not in step.about["draws"] or draw in rejected_draws(bench.preparation, bench.worksheet):
        raise OutOfOrder()
    reading = bench.preparation.readings.filter(draw=draw).order_by("-attempt").first()
    if reading is None:
        raise NotDrawnYet()
    if draw not in {item.draw for item in unread_items(step, bench.worksheet)}:
        raise SeenAlready()
    return reading


def _sight(bench: Bench, step: Step, reading: Reading, seen: Quantity) -> None:
    planned, drawn = bench.worksheet.draw(reading.draw), of(reading.volume_ml, "mL")
    limit = Decimal(bench.policy.agreement_percent)
    others = also_seen(reading, bench.person) if is_second(step) else []
    verdict = compare(planned, drawn=drawn, seen=seen, limit_percent=limit, also_seen=others)
    Sighting.objects.create(
        reading=reading,
        step=step,
        volume_ml=number_in(seen, "mL"),
        agrees=verdict.agrees,
        person=bench.person,
        at=bench.now,
    )
    bench.write(
        "see draw",
        draw=reading.draw,
        attempt=reading.attempt,
        required=write(planned.target),
        drawn=write(drawn),
        seen=write(seen),
        agrees=verdict.agrees,
    )


def compare_when_all_seen(bench: Bench, step: Step) -> None:
    """Once every syringe is read or passed over, stop for those that differ and those nobody could read."""
    if unread_items(step, bench.worksheet):
        return
    gone = rejected_draws(bench.preparation, bench.worksheet)
    differing = [one.reading.draw for one in latest_sightings(bench.preparation, step) if not one.agrees]
    passed = {mark.facts["draw"]: mark.facts["reason"] for mark in step.stamps.all()}
    stops = (
        (Hold.Cause.AMOUNTS_DIFFER, [draw for draw in differing if draw not in gone], ""),
        (Hold.Cause.CANNOT_READ, [draw for draw in passed if draw not in gone], "; ".join(passed.values())),
    )
    for cause, draws, note in stops:
        if draws:
            bench.open_hold(cause, note=note[:LONGEST_REASON], draws=draws, step=step)
    bench.finish(step)


@act
def inspect(bench: Bench, *, place: int, stated: Mapping[str, bool]) -> None:
    """Final check: the pharmacist states each thing inspected."""
    step = _checked(bench, place, Takes.INSPECTION)
    if not all(stated.get(name) for name in INSPECTED):
        raise NotInspected()
    bench.write("final check", stated=list(INSPECTED))
    bench.finish(step)


@act
def refuse_check(bench: Bench, *, place: int, reason: str, cannot_read: bool = False) -> None:
    """Refuse a check with a reason: the work is on hold until a pharmacist resolves it."""
    step = checkers_step(bench, place)
    why = reason_typed(reason)
    is_showing = bench.kind(step).takes is Takes.SIGHTING
    cause = Hold.Cause.CANNOT_READ if cannot_read and is_showing else Hold.Cause.CHECK_REFUSED
    bench.write("refuse check", step=step.kind, reason=why)
    bench.open_hold(cause, note=why, draws=step.about.get("draws", []), step=step)
    bench.finish(step, reason=why[:SHORT_REASON])


def _checked(bench: Bench, place: int, takes: Takes) -> Step:
    step = checkers_step(bench, place)
    if bench.kind(step).takes is not takes:
        raise OutOfOrder()
    return step
