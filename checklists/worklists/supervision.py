"""The supervisor's desk: what is in each hood now, what was finished and how long each step took."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Max
from django.utils import timezone
from django.utils.translation import gettext as _

from checklists import timings
from checklists.method.step_kinds import Actor, row_of
from checklists.models import Entry, Hood, Preparation
from checklists.refusals import MadeOnPaper
from checklists.timings import StepTime, Total
from checklists.worklists.bench import current_step
from checklists.worklists.identity import identity
from checklists.worklists.prospects import Waiting, left_of, waiting_orders
from checklists.worklists.screens import Identity
from checklists.worklists.timeline import Timeline, timeline
from checklists.worklists.words import STAGES, STEP_NAMES, WAITS
from compounding.formulary import codes
from compounding.formulary.models import Order
from compounding.formulary.policy import current_policy
from compounding.reckoning.worksheet import from_plain

ENDED = (Preparation.State.RELEASED, Preparation.State.DISCARDED)
UNDER_WAY = tuple(one for one in Preparation.State if one not in (*ENDED, Preparation.State.ON_PAPER))


@dataclass(frozen=True)
class Work:
    """One preparation under way: where it is, since when, and on whom it waits."""

    identity: Identity
    state: str
    technician: str
    due_at: datetime
    step: str
    stage: str
    since: datetime
    waits_on: str
    hold: str
    is_late: bool
    substances: str
    ready_at: datetime | None

    @property
    def is_at_risk(self) -> bool:
        """Say whether it will be late as things usually go."""
        return self.ready_at is not None and self.ready_at > self.due_at


@dataclass(frozen=True)
class HoodRow:
    """A hood and what is in it."""

    pk: int
    name: str
    airflow: str
    is_running: bool
    running_since: datetime | None
    wiped_at: datetime | None
    certified_until: str
    work: Work | None


@dataclass(frozen=True)
class NowScreen:
    """Every hood, and the work that is in none."""

    hoods: tuple[HoodRow, ...]
    elsewhere: tuple[Work, ...]
    orders: tuple[Waiting, ...]
    etag: str


@dataclass(frozen=True)
class FinishedRow:
    """One ended preparation with its sums."""

    identity: Identity
    state: str
    technician: str
    hood: str
    opened_at: datetime
    ended_at: datetime
    total: Total


@dataclass(frozen=True)
class NamedTime:
    """A step's time under its name."""

    name: str
    stage: str
    time: StepTime


@dataclass(frozen=True)
class FinishedScreen:
    """One ended preparation, step by step."""

    row: FinishedRow
    times: tuple[NamedTime, ...]
    holds: tuple[str, ...]
    timeline: Timeline


#: After so many seconds what is at risk is looked at anew, though nothing was entered.
LOOKED_AT_ANEW = 300


def now_etag() -> str:
    """Return what changes whenever anything is entered, ordered or switched, and every few minutes."""
    last = Entry.objects.aggregate(last=Max("pk"))["last"] or 0
    ordered = Order.objects.aggregate(last=Max("pk"))["last"] or 0
    running = Hood.objects.aggregate(count=Count("running_since"), since=Max("running_since"))
    minutes = int(timezone.now().timestamp()) // LOOKED_AT_ANEW
    return f'"now-{last}-{ordered}-{running["count"]}-{running["since"]}-{minutes}"'


def now_screen() -> NowScreen:
    """Return what is in each hood now, and what is under way elsewhere."""
    at = timezone.now()
    under_way = Preparation.objects.select_related("order__formulation", "technician")
    hoods = list(Hood.objects.order_by("name"))
    by_hood = {one.hood_id: one for one in under_way.filter(hood__in=[hood.pk for hood in hoods])}
    # by its state alone: a database would look among all that stand in no hood, which is every one ever made
    open_work = [one for one in under_way.filter(state__in=UNDER_WAY) if one.hood_id is None]
    elsewhere = sorted(open_work, key=lambda one: one.order.due_at)
    left = left_of([*by_hood.values(), *elsewhere], at)
    return NowScreen(
        hoods=tuple(_hood(hood, by_hood.get(hood.pk), at, left) for hood in hoods),
        elsewhere=tuple(_work(one, at, left) for one in elsewhere),
        orders=waiting_orders(at),
        etag=now_etag(),
    )


def _hood(hood: Hood, inside: Preparation | None, at: datetime, left: dict[int, timedelta]) -> HoodRow:
    return HoodRow(
        pk=hood.pk,
        name=hood.name,
        airflow=hood.get_airflow_display(),
        is_running=hood.running_since is not None,
        running_since=hood.running_since,
        wiped_at=hood.surface_wiped_at,
        certified_until=hood.certified_until.isoformat(),
        work=_work(inside, at, left) if inside else None,
    )


def _work(preparation: Preparation, at: datetime, left: dict[int, timedelta]) -> Work:
    step, hold = current_step(preparation), preparation.holds.filter(resolved_at=None).first()
    kind = row_of(step) if step else None
    is_check = kind is not None and kind.actor is Actor.CHECKER
    return Work(
        identity=identity(preparation, from_plain(preparation.worksheet)),
        state=preparation.get_state_display(),
        technician=preparation.technician.name,
        due_at=preparation.order.due_at,
        step=str(STEP_NAMES[step.kind]) if step else "",
        stage=str(STAGES[kind.stage]) if kind else "",
        since=hold.opened_at
        if hold
        else (step.started_at if step and step.started_at else preparation.opened_at),
        waits_on=(step.taken_by.name if step and step.taken_by else str(WAITS[kind.takes]))
        if is_check and kind
        else "",
        hold=hold.get_cause_display() if hold else "",
        is_late=at > preparation.order.due_at,
        substances=" + ".join(one["written"] for one in preparation.worksheet["ingredients"]),
        ready_at=at + left[preparation.pk] if preparation.pk in left else None,
    )


def finished_rows(days: int = 30) -> tuple[FinishedRow, ...]:
    """Return what ended in the last days, newest first."""
    at = timezone.now()
    ended = Preparation.objects.filter(state__in=ENDED, ended_at__gte=at - timedelta(days=days))
    ended = ended.select_related("order__formulation", "technician", "made_in").prefetch_related("holds")
    return tuple(_finished(one, timings.step_times(one), at) for one in ended.order_by("-ended_at")[:200])


def finished_screen(preparation: Preparation) -> FinishedScreen:
    """Return one ended preparation, step by step. What was made on paper has no timings."""
    if preparation.state == Preparation.State.ON_PAPER:
        raise MadeOnPaper(code=codes.grouped(preparation.code))
    times, at = timings.step_times(preparation), timezone.now()
    named = [(str(STEP_NAMES[time.kind]), time) for time in times]
    total = timings.total(preparation, times, at)
    return FinishedScreen(
        row=_finished(preparation, times, at),
        timeline=timeline(preparation.opened_at, total, named, preparation.holds.all()),
        times=tuple(NamedTime(str(STEP_NAMES[time.kind]), time.stage, time) for time in times),
        holds=tuple(
            _("%(cause)s: %(resolution)s. %(reason)s")
            % {
                "cause": hold.get_cause_display(),
                "resolution": hold.get_resolution_display(),
                "reason": hold.reason,
            }
            for hold in preparation.holds.all()
        ),
    )


def _finished(preparation: Preparation, times: tuple[StepTime, ...], at: datetime) -> FinishedRow:
    return FinishedRow(
        identity=identity(preparation, from_plain(preparation.worksheet)),
        state=preparation.get_state_display(),
        technician=preparation.technician.name,
        hood=preparation.made_in.name if preparation.made_in else "",
        opened_at=preparation.opened_at,
        ended_at=preparation.ended_at or at,
        total=timings.total(preparation, times, at),
    )


CSV_HEAD = (
    "preparation", "formulation", "state", "hood", "number", "stage", "step", "by",
    "started_at", "finished_at", "worked_seconds", "waited_seconds", "checked_seconds", "reason",
)  # fmt: skip


def csv_rows(days: int = 30) -> Iterator[tuple[str, ...]]:
    """Yield a line for every step of ended work; no patient is named, nobody else unless policy says so."""
    yield CSV_HEAD
    shows_people = current_policy().shows_individuals
    since = timezone.now() - timedelta(days=days)
    ended = Preparation.objects.filter(state__in=ENDED, ended_at__gte=since).select_related(
        "order__formulation", "made_in"
    )
    for preparation in ended.order_by("ended_at").iterator():
        for time in timings.step_times(preparation):
            yield _csv_row(preparation, time, shows_people)


def _csv_row(preparation: Preparation, time: StepTime, shows_people: bool) -> tuple[str, ...]:
    spans = (time.worked, time.waited, time.checked)
    return (
        preparation.code,
        preparation.order.formulation.code,
        preparation.state,
        preparation.made_in.name if preparation.made_in else "",
        str(time.number),
        time.stage,
        time.kind,
        time.by if shows_people else "",
        time.started_at.isoformat(),
        time.finished_at.isoformat(),
        *(f"{span.total_seconds():.1f}" for span in spans),
        plain_cell(time.reason),
    )


def plain_cell(text: str) -> str:
    """Keep a spreadsheet from reading a typed text as a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text


def find_hood(number: int) -> Hood | None:
    """Return a hood by its number."""
    return Hood.objects.filter(pk=number).first()
