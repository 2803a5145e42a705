"""Garbing of a session: it stands for the hours of the policy, unless its wearer is known to have left.

The rule is our own (no source): it ends when its wearer puts work aside, gives it up, signs out or garbs
anew. Whoever leaves the room without telling the program is not seen by it. Hazardous work always garbs anew.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from checklists.method import procedure
from checklists.method.planned import PlannedStep
from checklists.models import Garbing, Person
from checklists.run.bench import Bench
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet

Ending = Garbing.Ending


def standing(person: Person, worksheet: Worksheet, policy: Policy, now: datetime) -> Garbing | None:
    """Return the garbing that serves for this worksheet too, if policy asks once a session and it stands."""
    if worksheet.hazardous or not policy.garb_hours:
        return None
    since = now - timedelta(hours=policy.garb_hours)
    return Garbing.objects.filter(person=person, ended_at=None, at__gte=since).first()


def put_on(bench: Bench) -> None:
    """Gloves are on: a garbing begins. After hazardous work its garb goes to waste, so none is kept of it."""
    end(bench.person, Ending.ANOTHER, bench.when)
    if not bench.worksheet.hazardous:
        Garbing.objects.create(person=bench.person, at=bench.when)


def end(person: Person, why: Garbing.Ending, now: datetime) -> None:
    """End the garbing that this person stands in, if any."""
    Garbing.objects.filter(person=person, ended_at=None).update(ended_at=now, ended_by=why)


def sign_out(*, person: Person) -> None:
    """Somebody signs out: what they wear is not taken for clean any more."""
    with transaction.atomic(durable=True):
        end(person, Ending.SIGNED_OUT, timezone.now())


def anew(bench: Bench) -> tuple[PlannedStep, ...]:
    """Return the garbing that whoever takes up the work has to do: all of it, unless a session's stands."""
    if standing(bench.person, bench.worksheet, bench.policy, bench.now):
        return ()
    return procedure.garb(bench.policy)
