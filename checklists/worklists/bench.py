"""The tablet: which step the work has come to, as its screen needs it."""

from __future__ import annotations

import json
import secrets
from dataclasses import replace

from django.urls import reverse
from django.utils import timezone

from checklists.clocks import are_hands_out
from checklists.counting import live_units
from checklists.method.away import REFUSED, TWICE, Away, away_of
from checklists.method.batch import is_batch
from checklists.method.second_reading import is_second
from checklists.method.step_kinds import Actor, StepKind, row_of
from checklists.models import Hold, Person, Preparation, Step
from checklists.refusals import MadeOnPaper, NoSuchPreparation, NotYours
from checklists.worklists import step_details
from checklists.worklists.away import away_view
from checklists.worklists.identity import identity
from checklists.worklists.running import RunningView, because, running
from checklists.worklists.screens import HoldView, SpineMark, StepScreen, WaitingView
from checklists.worklists.words import STAGES, WAITS, WAITS_FOR_SECOND
from compounding.formulary import codes
from compounding.reckoning.worksheet import from_plain


def find(code: str) -> Preparation:
    """Return the preparation of that code with what every screen of it needs."""
    preparation = (
        Preparation.objects.select_related("order__formulation", "technician", "hood", "made_in")
        .filter(code=code)
        .first()
    )
    if preparation is None:
        raise NoSuchPreparation(code=code)
    return preparation


def own(code: str, person: Person) -> Preparation:
    """Return the preparation of that code to the technician at it; tell anybody else whose it is."""
    preparation = find(code)
    if preparation.technician_id != person.pk:
        raise NotYours(code=codes.grouped(code), technician=preparation.technician.name)
    return preparation


def current_step(preparation: Preparation) -> Step | None:
    """Return the step the work has come to."""
    return preparation.steps.filter(finished_at=None).first()


def etag(preparation: Preparation) -> str:
    """Return what changes with every act on it, when a clock of it runs out, and with its device."""
    return _etag(preparation, running(preparation, timezone.now()))


def _etag(preparation: Preparation, clocks: RunningView) -> str:
    return f'"{preparation.code}-{preparation.version}-{clocks.mark}-{preparation.open_on[:6]}"'


def template_of(preparation: Preparation, person: Person, screen: StepScreen) -> str:
    """Return the template to show: the step's own, or that the work has stopped, ended, or is not theirs."""
    if preparation.state == Preparation.State.IN_WORK and preparation.technician_id == person.pk:
        return "technician/hold.html" if screen.hold else f"steps/{screen.kind}.html"
    return "technician/done.html"


def step_screen(
    preparation: Preparation, person: Person, *, refusal: str = "", typed: str = "", device: str = ""
) -> StepScreen:
    """Return the tablet's screen of the step the work has come to."""
    steps = list(preparation.steps.all())
    if not steps:
        raise MadeOnPaper(code=codes.grouped(preparation.code))
    clocks = running(preparation, timezone.now())
    screen = _screen(preparation, person, steps, _index(steps), clocks)
    away = None
    if screen.state == Preparation.State.IN_WORK and preparation.technician_id == person.pk:
        away = away_view(preparation, steps, steps[_index(steps)], clocks.until, device)
    return replace(screen, refusal=refusal, typed=typed, away=away)


def screens_ahead(
    preparation: Preparation, person: Person
) -> tuple[StepScreen, list[tuple[Step, Away, StepScreen | None]]]:
    """Return the screen now, and every step from now on, with its screen where it goes on alone."""
    steps = list(preparation.steps.all())
    clocks = running(preparation, timezone.now())

    def screen(index: int) -> StepScreen:
        away = away_view(preparation, steps, steps[index], clocks.until, "")
        return replace(_screen(preparation, person, steps, index, clocks), away=away, is_ahead=True)

    ahead: list[tuple[Step, Away, StepScreen | None]] = []
    for index in range(_index(steps), len(steps)):
        goes = away_of(steps[index])
        ahead.append((steps[index], goes, screen(index) if goes is Away.GOES_ON else None))
    return screen(_index(steps)), ahead


def became_of(preparation: Preparation, key: str) -> dict[str, str]:
    """Say what became of a step sent under this key: `taken`, `done already` or `held`, and why."""
    entry = preparation.entries.filter(key=f"finish_step {key}").first()
    states = {REFUSED: "held", TWICE: "done already"}
    if entry is None or entry.act not in states:
        return {"state": "taken", "sentence": ""}
    return {"state": states[entry.act], "sentence": json.loads(entry.text)["facts"].get("sentence", "")}


def _index(steps: list[Step]) -> int:
    return next((i for i, step in enumerate(steps) if step.finished_at is None), len(steps) - 1)


def _screen(
    preparation: Preparation, person: Person, steps: list[Step], index: int, clocks: RunningView
) -> StepScreen:
    step, kind = steps[index], row_of(steps[index])
    worksheet = from_plain(preparation.worksheet)
    case = step_details.Case(preparation, worksheet, step, timezone.now())
    return StepScreen(
        identity=identity(preparation, worksheet),
        kind=step.kind,
        stage=kind.stage.value,
        stage_label=str(STAGES[kind.stage]),
        number=index + 1,
        count=len(steps),
        spine=_spine(steps, index),
        key=secrets.token_hex(16),
        finish_url=reverse("finish_step", args=[preparation.code, step.place]),
        wrong_url=reverse("something_wrong", args=[preparation.code]),
        is_in_hood=kind.is_in_hood or "because" in step.about,
        leave_url=_leave_url(preparation, person, kind),
        are_hands_out=kind.is_in_hood and are_hands_out(preparation),
        done_card=codes.done_card(),
        waiting=_waiting(preparation, step, kind, case),
        hold=_hold(preparation),
        hood_name=preparation.hood.name if preparation.hood else "",
        state=preparation.state,
        technician=preparation.technician.name,
        etag=_etag(preparation, clocks),
        clocks=clocks.clocks,
        over=tuple(said for name, said in clocks.over if name != step.about.get("because")),
        because=because(step.about),
        reject_url=reverse("choose_unit", args=[preparation.code]) if is_batch(worksheet) else "",
        units_live=tuple(live_units(preparation, worksheet)) if is_batch(worksheet) else (),
        **step_details.of(case),
    )


def _leave_url(preparation: Preparation, person: Person, kind: StepKind) -> str:
    """Return where it is said that hands left; empty where none of this person's are in the hood."""
    is_theirs = preparation.state == Preparation.State.IN_WORK and preparation.technician_id == person.pk
    return reverse("leave_hood", args=[preparation.code]) if is_theirs and kind.is_in_hood else ""


def _spine(steps: list[Step], now: int) -> tuple[SpineMark, ...]:
    marks, stage = [], None
    for index, step in enumerate(steps):
        of_step = row_of(step).stage
        label = str(STAGES[of_step]) if of_step is not stage else ""
        marks.append(SpineMark(label=label, is_done=index < now, is_now=index == now))
        stage = of_step
    return tuple(marks)


def _waiting(
    preparation: Preparation, step: Step, kind: StepKind, case: step_details.Case
) -> WaitingView | None:
    if kind.actor is not Actor.CHECKER:
        return None
    return WaitingView(
        for_what=str(WAITS_FOR_SECOND if is_second(step) else WAITS[kind.takes]),
        since=step.started_at or case.now,
        taken_by=step.taken_by.name if step.taken_by else "",
        whom_to_call=_whom_to_call(preparation, step),
        items=step_details.shown(case),
        poll_url=reverse("poll_step", args=[preparation.code]),
    )


def _whom_to_call(preparation: Preparation, step: Step) -> tuple[str, ...]:
    """Return pharmacists who may take it: not its technician, and for a reading nobody who has read it."""
    pharmacists = Person.objects.filter(role=Person.Role.PHARMACIST, is_active=True).order_by("name")
    have_read = preparation.readings.filter(draw__in=step.about.get("draws", ())).values("sightings__person")
    seen = Person.objects.filter(pk__in=have_read) if step.kind == "show" else Person.objects.none()
    others = pharmacists.exclude(pk=preparation.technician_id).exclude(pk__in=seen)
    return tuple(others.values_list("name", flat=True)[:3])


def _hold(preparation: Preparation) -> HoldView | None:
    hold = preparation.holds.filter(resolved_at=None).select_related("opened_by").first()
    return hold_view(hold) if hold else None


def hold_view(hold: Hold) -> HoldView:
    """Return a hold as the tablet may show it: why, never an amount."""
    return HoldView(
        reason=hold.get_cause_display(), note=hold.note, since=hold.opened_at, opened_by=hold.opened_by.name
    )
