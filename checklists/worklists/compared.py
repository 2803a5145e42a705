"""After commitment: the three amounts side by side, the final check, the release, and holds."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Iterator
from datetime import datetime
from decimal import Decimal

from django.db.models import QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _

from checklists.counting import live_units, rejected_draws
from checklists.gate import blockers
from checklists.independence import also_seen, waits_for_second
from checklists.method.agreement import Verdict, compare
from checklists.method.batch import is_batch, number_on
from checklists.method.pictures import ScalePicture, scale_picture
from checklists.method.step_kinds import KINDS, Takes
from checklists.models import Hold, Person, Preparation, Reading, Sighting, Step
from checklists.worklists import papers
from checklists.worklists.batches import batch_view
from checklists.worklists.checker_screens import (
    AmountRow,
    Answer,
    ComparedScreen,
    FinalCheckScreen,
    HoldScreen,
    OtherSeen,
    ReleaseScreen,
    Way,
)
from checklists.worklists.checks import containers, frame
from checklists.worklists.identity import identity
from checklists.worklists.order_view import order_view
from checklists.worklists.origins import origins
from checklists.worklists.words import WAYS
from compounding.formulary.policy import current_policy
from compounding.reckoning.quantities import number_in, of, write
from compounding.reckoning.worksheet import Draw, Worksheet, from_plain


def compared_step(preparation: Preparation, step: Step) -> ComparedScreen:
    """Return the amounts of a step whose every syringe was read."""
    worksheet = from_plain(preparation.worksheet)
    sightings = _with_others(step.sightings.all()).order_by("reading__draw")
    rows = tuple(_row(worksheet, sighting) for sighting in sightings)
    hold = preparation.holds.filter(step=step, resolved_at=None).first()
    return ComparedScreen(
        identity=identity(preparation, worksheet),
        rows=rows,
        agrees=all(row.agrees for row in rows),
        hold_url=reverse("hold", args=[preparation.code, hold.pk]) if hold else "",
    )


def is_open(preparation: Preparation, step: Step) -> bool:
    """Say whether a step just finished shows amounts: a reading that nobody else has still to take."""
    return KINDS[step.kind].takes is Takes.SIGHTING and not waits_for_second(preparation, step)


def answer(preparation: Preparation, step: Step) -> Answer:
    """Return the answer after a first check or the release, and after the first of two readings: agree or
    differ, never a number.
    """
    hold = preparation.holds.filter(step=step, resolved_at=None).first()
    return Answer(
        identity=identity(preparation, from_plain(preparation.worksheet)),
        kind=step.kind,
        waits_for_second=step.kind == "show" and waits_for_second(preparation, step),
        agrees=not preparation.holds.filter(step=step).exists(),
        hold_url=reverse("hold", args=[preparation.code, hold.pk]) if hold else "",
        at=step.finished_at or preparation.opened_at,
    )


def _live_rows(preparation: Preparation) -> tuple[AmountRow, ...]:
    """Return the amounts of every draw but those of rejected units."""
    worksheet = from_plain(preparation.worksheet)
    gone = rejected_draws(preparation, worksheet)
    return rows_of(preparation, [draw.number for draw in worksheet.draws if draw.number not in gone])


def rows_of(preparation: Preparation, draws: Iterable[int] | None = None) -> tuple[AmountRow, ...]:
    """Return the last sighting of each draw, all or the ones named, that was seen."""
    worksheet = from_plain(preparation.worksheet)
    wanted = set(draws) if draws is not None else {draw.number for draw in worksheet.draws}
    last: dict[int, Sighting] = {}
    readings = Reading.objects.filter(preparation=preparation, draw__in=wanted).order_by("attempt")
    for sighting in _with_others(Sighting.objects.filter(reading__in=readings)).order_by("pk"):
        last[sighting.reading.draw] = sighting
    return tuple(_row(worksheet, last[number]) for number in sorted(last))


def _with_others(sightings: QuerySet[Sighting]) -> QuerySet[Sighting]:
    return sightings.select_related("reading", "person").prefetch_related("reading__sightings__person")


def _row(worksheet: Worksheet, sighting: Sighting) -> AmountRow:
    draw = worksheet.draw(sighting.reading.draw)
    drawn, seen = of(sighting.reading.volume_ml, "mL"), of(sighting.volume_ml, "mL")
    verdict = compare(
        draw,
        drawn=drawn,
        seen=seen,
        limit_percent=Decimal(current_policy().agreement_percent),
        also_seen=also_seen(sighting.reading, sighting.person),
    )
    return AmountRow(
        draw=draw.number,
        number=number_on(worksheet, draw),
        of_what=worksheet.transfer_of(draw.number).of_what,
        required=write(draw.target),
        drawn=write(drawn),
        seen=write(seen),
        seen_by=sighting.person.name,
        others=tuple(_others(sighting)),
        agrees=sighting.agrees,
        odd_one=verdict.odd_one,
        difference=_difference(verdict, sighting.agrees),
        scale=_scale(draw, sighting, verdict),
    )


def _others(sighting: Sighting) -> Iterator[OtherSeen]:
    """Yield what other checkers saw of the same filling, at other readings of it."""
    for one in sighting.reading.sightings.all():
        if one.step_id != sighting.step_id:
            yield OtherSeen(one.person.name, write(of(one.volume_ml, "mL")))


def _scale(draw: Draw, sighting: Sighting, verdict: Verdict) -> ScalePicture:
    return scale_picture(
        number_in(draw.target, "mL"), sighting.reading.volume_ml, sighting.volume_ml, verdict.tolerance
    )


def _difference(verdict: Verdict, agrees: bool) -> str:
    spread, half = write(of(verdict.spread, "mL")), write(of(verdict.tolerance, "mL"))
    if agrees:
        return _("They agree, to half a mark (%(half)s).") % {"half": half}
    if verdict.is_content_off and verdict.spread <= verdict.tolerance:
        return _("They agree with each other but lie too far from the order.")
    return _("They differ by %(spread)s; half a mark is %(half)s.") % {"spread": spread, "half": half}


def final_check(preparation: Preparation, step: Step, *, refusal: str = "") -> FinalCheckScreen:
    """Return the final check."""
    worksheet = from_plain(preparation.worksheet)
    return FinalCheckScreen(
        frame=frame(preparation, step, "inspect", refusal),
        order=order_view(preparation.order),
        label=papers.label_texts(preparation),
        containers=containers(preparation),
        origins=origins(preparation, worksheet),
        rows=_live_rows(preparation),
        beyond_use_at=preparation.beyond_use_at,
        batch=batch_view(preparation, worksheet),
        units=tuple(live_units(preparation, worksheet)) if is_batch(worksheet) else (),
        reject_url=reverse("reject_inspected", args=[preparation.code, step.place]),
    )


def release(
    preparation: Preparation, step: Step, person: Person, now: datetime, meaning: str, *, refusal: str = ""
) -> ReleaseScreen:
    """Return the release: the reasons why not, or the signature."""
    return ReleaseScreen(
        frame=frame(preparation, step, "release", refusal),
        order=order_view(preparation.order),
        reasons=tuple(blocker.sentence for blocker in blockers(preparation, person, now)),
        meaning=meaning,
        beyond_use_at=preparation.beyond_use_at,
    )


def hold(
    hold: Hold, person: Person, ways: Iterable[Hold.Resolution], *, refusal: str = "", reason: str = ""
) -> HoldScreen:
    """Return a hold; its amounts only when this person has opened it with them."""
    preparation, draws = hold.preparation, hold.draws
    seen = set(preparation.disclosures.filter(person=person, draw__in=draws).values_list("draw", flat=True))
    is_shown = seen >= set(draws)
    where = [preparation.code, hold.pk]
    return HoldScreen(
        identity=identity(preparation, from_plain(preparation.worksheet)),
        order=order_view(preparation.order),
        number=hold.pk,
        cause=hold.get_cause_display(),
        note=hold.note,
        opened_by=hold.opened_by.name,
        opened_at=hold.opened_at,
        is_open=is_shown,
        rows=rows_of(preparation, draws) if is_shown and draws else (),
        recalculated=_recalculated(preparation)
        if is_shown and hold.cause == Hold.Cause.RECALCULATION_DIFFERS
        else (),
        ways=tuple(Way(way.value, str(way.label), str(WAYS[way.value])) for way in ways) if is_shown else (),
        key=secrets.token_hex(16),
        see_url=reverse("see_hold", args=where),
        resolve_url=reverse("resolve_hold", args=where),
        refusal=refusal,
        reason=reason,
    )


def _recalculated(preparation: Preparation) -> tuple[str, ...]:
    """Return each answer that differs beside what the worksheet reckons."""
    worksheet, lines = from_plain(preparation.worksheet), []
    last = {answer.transfer: answer for answer in preparation.recalculations.order_by("attempt")}
    for transfer in worksheet.transfers:
        answer = last.get(transfer.number)
        if answer and not answer.agrees:
            lines.append(
                _("%(what)s: typed %(typed)s, the worksheet has %(reckoned)s")
                % {
                    "what": transfer.of_what,
                    "typed": write(of(answer.volume_ml, "mL")),
                    "reckoned": write(transfer.required),
                }
            )
    return tuple(lines)
