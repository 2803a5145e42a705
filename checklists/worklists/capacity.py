"""Capacity: can what is to be made be made by its due times, with these hoods and people?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _

from checklists import daybook
from checklists.daybook import By, What, in_ms
from checklists.measures.forecast import Bench, Forecast, Job, Outlook, forecast
from checklists.measures.tallies import Tally, added, step_of
from checklists.models import Hood, Person, Preparation
from checklists.worklists.charts import Axis, RangeBar, axis
from checklists.worklists.prospects import WEEKS, left_of, mean_of_kinds
from compounding.formulary import orders
from compounding.formulary.models import Order

#: How far ahead the list is looked at; how many of it at most; the most hoods or people that are believed.
AHEAD, MOST_JOBS, MOST = timedelta(hours=12), 60, 40
#: What comes after the hand-over.
AFTERWARDS = ("final_check", "release")


@dataclass(frozen=True)
class OutlookRow:
    """One preparation: due, when it is likely ready, drawn with its due time."""

    title: str
    due_at: datetime
    early_at: datetime
    late_at: datetime
    percent: int
    bar: RangeBar
    due_x: float
    is_begun: bool


@dataclass(frozen=True)
class CapacityScreen:
    """The forecast, with what it was asked for."""

    rows: tuple[OutlookRow, ...]
    axis: Axis
    sentence: str
    hoods: int
    people: int
    plays: int
    known: int


def capacity_screen(query: dict[str, str]) -> CapacityScreen:
    """Return the forecast of what is due in the next hours."""
    at = timezone.now()
    bench = _bench(query)
    jobs, titles = _jobs(at)
    found = forecast(jobs, bench)
    rows, scale = _rows(found, jobs, titles, at) if found else ((), axis(0))
    return CapacityScreen(
        rows=rows,
        axis=scale,
        sentence=_sentence(found, bench, known=bool(jobs)),
        hoods=bench.hoods,
        people=bench.people,
        plays=found.plays if found else 0,
        known=sum(bool(job.lengths) for job in jobs),
    )


def _bench(query: dict[str, str]) -> Bench:
    hoods = Hood.objects.filter(running_since__isnull=False)
    people = Person.objects.filter(role=Person.Role.TECHNICIAN, is_active=True).count()
    wanted = _asked(query.get("hoods", ""), hoods.count())
    closed = min(hoods.filter(takes_hazardous=True).count(), wanted)
    return Bench(hoods=wanted, hazardous_hoods=closed, people=_asked(query.get("people", ""), people))


def _asked(text: str, usual: int) -> int:
    is_number = text.isascii() and text.isdecimal() and len(text) < 4
    return min(int(text), MOST) if is_number else usual


def _jobs(at: datetime) -> tuple[list[Job], dict[str, tuple[str, datetime]]]:
    """Return what is under way and what is due, with the lengths that such ones had; none without a past."""
    whole = daybook.period(By.FORMULATION, timezone.localdate(at) - WEEKS, timezone.localdate(at))
    lengths = {code: row[What.WHOLE].steps for code, row in whole.items() if What.WHOLE in row}
    if not lengths:
        return [], {}
    any_length, means = added(lengths.values()), mean_of_kinds(at)
    after = in_ms(sum((means.get(kind, timedelta(0)) for kind in AFTERWARDS), timedelta(0)))
    jobs, titles = [], {}
    for order, left in _to_do(at):
        found: Tally = lengths.get(order.formulation.code, any_length)
        jobs.append(
            Job(
                name=order.number,
                due=in_ms(order.due_at - at),
                lengths={step_of(in_ms(left)): 1} if left is not None else found,
                after=after,
                is_hazardous=any(dose.ingredient.substance.is_hazardous for dose in order.doses.all()),
                is_begun=left is not None,
            )
        )
        titles[order.number] = (order.formulation.title, order.due_at)
    return jobs, titles


def _to_do(at: datetime) -> list[tuple[Order, timedelta | None]]:
    """Return what is in work, with what is left of it, and the orders that are due and not begun."""
    in_work = list(Preparation.objects.filter(state=Preparation.State.IN_WORK).select_related("order"))
    left = left_of(in_work, at)
    begun = {one.order_id: left.get(one.pk) for one in in_work}
    due = orders.to_make().filter(due_at__gte=at - AHEAD, due_at__lte=at + AHEAD)
    waiting = due.exclude(preparations__state__in=[s for s in Preparation.State if s != "discarded"])
    made = [(order, begun[order.pk]) for order in orders.to_make().filter(pk__in=begun)]
    return [*made, *((order, None) for order in waiting[:MOST_JOBS])]


def _rows(
    found: Forecast, jobs: list[Job], titles: dict[str, tuple[str, datetime]], at: datetime
) -> tuple[tuple[OutlookRow, ...], Axis]:
    dues = {job.name: job for job in jobs}
    scale = axis(max(max(one.late, dues[one.name].due) for one in found.outlooks))
    return tuple(_row(one, dues[one.name], titles[one.name], scale, at) for one in found.outlooks), scale


def _row(one: Outlook, job: Job, title: tuple[str, datetime], scale: Axis, at: datetime) -> OutlookRow:
    early, middle, late = (scale.at(end) for end in (one.early, one.middle, one.late))
    return OutlookRow(
        title=title[0],
        due_at=title[1],
        early_at=at + timedelta(milliseconds=one.early),
        late_at=at + timedelta(milliseconds=one.late),
        percent=round(100 * one.in_time),
        bar=RangeBar(early, early, middle, late, late),
        due_x=scale.at(max(job.due, 0)),
        is_begun=job.is_begun,
    )


def _sentence(found: Forecast | None, bench: Bench, *, known: bool) -> str:
    if not known:
        return _(
            "Nothing can be foretold: nothing is due, or the last four weeks do not tell how long it takes."
        )
    if found is None:
        return _("With no hood running or nobody to work, nothing can be made.")
    late = [one for one in found.outlooks if one.in_time < 0.5]
    facts = {
        "percent": round(100 * found.all_in_time),
        "hoods": bench.hoods,
        "people": bench.people,
        "late": len(late),
        "all": len(found.outlooks),
    }
    return (
        _(
            "With %(hoods)d hoods and %(people)d technicians the whole list is in time in %(percent)d of 100 "
            "plays; %(late)d of %(all)d are more likely late than not."
        )
        % facts
    )
