"""When work will be ready as things usually go, and which due times are at risk.

What remains is reckoned by the mean of each kind of step over the last weeks: means add up, medians do not.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from checklists import daybook
from checklists.daybook import By, What
from checklists.models import Preparation, Step
from checklists.templatetags.amounts import unbroken
from compounding.formulary import codes, orders

#: From how long ago durations are taken (our own, no source).
WEEKS = timedelta(days=28)
#: How many orders that are not begun are shown, and for how long after their due time.
SHOWN_ORDERS, KEPT_SHOWN = 8, timedelta(hours=12)


@dataclass(frozen=True)
class Waiting:
    """An order that is not begun: what is in it without any amount, for whom, and when it should be begun."""

    number: str
    shown_number: str
    title: str
    substances: str
    for_whom: str
    due_at: datetime
    begin_by: datetime | None
    is_late: bool
    is_at_risk: bool


def mean_of_kinds(at: datetime) -> dict[str, timedelta]:
    """Return how long each kind of step takes in the mean, with the waiting for whoever does it."""
    today = timezone.localdate(at)
    found = daybook.means(By.KIND, today - WEEKS, today)
    return {kind: sum(row.values(), timedelta(0)) for kind, row in found.items()}


def left_of(preparations: Iterable[Preparation], at: datetime) -> dict[int, timedelta]:
    """Return how long each preparation still takes as things usually go; none where nothing is known yet."""
    means = mean_of_kinds(at)
    if not means:
        return {}
    left: dict[int, timedelta] = defaultdict(timedelta)
    unfinished = Step.objects.filter(preparation__in=list(preparations), finished_at=None).order_by()
    rows: Iterable[Any] = unfinished.values_list("preparation_id", "kind", "about__seconds")
    for pk, kind, seconds in rows:
        left[pk] += means.get(kind, timedelta(seconds=seconds or 0))
    return dict(left)


def waiting_orders(at: datetime) -> tuple[Waiting, ...]:
    """Return the orders that nobody has begun, the most urgent first."""
    due = (
        orders.to_make()
        .filter(due_at__gte=at - KEPT_SHOWN)
        .exclude(preparations__state__in=[state for state in Preparation.State if state != "discarded"])
    )
    wholes = mean_of_formulations(at)
    return tuple(_waiting(order, wholes.get(order.formulation.code), at) for order in due[:SHOWN_ORDERS])


def mean_of_formulations(at: datetime) -> dict[str, timedelta]:
    """Return how long a preparation takes from its opening to its release, in the mean."""
    today = timezone.localdate(at)
    found = daybook.means(By.FORMULATION, today - WEEKS, today)
    return {code: row[What.WHOLE] for code, row in found.items() if What.WHOLE in row}


def _waiting(order: Any, whole: timedelta | None, at: datetime) -> Waiting:
    begin_by = order.due_at - whole if whole else None
    return Waiting(
        number=order.number,
        shown_number=codes.grouped(order.number),
        title=unbroken(order.formulation.title),
        substances=" + ".join(dose.ingredient.substance.written for dose in order.doses.all()),
        for_whom=order.for_whom,
        due_at=order.due_at,
        begin_by=begin_by,
        is_late=at > order.due_at,
        is_at_risk=begin_by is not None and at > begin_by,
    )
