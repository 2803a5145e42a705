"""The wall: where the work stands, for everybody who passes. No patient, no dose, no volume stands on it.

A wall shows it with nobody signed in, by an address with a key. The key is a supervisor's own and dies with
their PIN, or when they sign out everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac

from checklists.models import Person
from checklists.worklists.prospects import Waiting, waiting_orders
from checklists.worklists.supervision import HoodRow, Work, now_screen

LONGEST_KEY = 32


@dataclass(frozen=True)
class OnTheWall:
    """One preparation, by what is in it and its code."""

    substances: str
    code: str
    technician: str
    step: str
    stage: str
    since: datetime
    waits_on: str
    hold: str
    due_at: datetime
    is_late: bool
    is_at_risk: bool


@dataclass(frozen=True)
class WallHood:
    """A hood, and what is in it."""

    name: str
    is_running: bool
    work: OnTheWall | None


@dataclass(frozen=True)
class WallOrder:
    """An order that is not begun."""

    substances: str
    due_at: datetime
    is_late: bool
    is_at_risk: bool


@dataclass(frozen=True)
class WallScreen:
    """The whole wall."""

    hoods: tuple[WallHood, ...]
    elsewhere: tuple[OnTheWall, ...]
    orders: tuple[WallOrder, ...]
    at: datetime
    etag: str


def key_of(person: Person) -> str:
    """Return the key of a supervisor's walls."""
    return f"{person.pk}-{salted_hmac('counterdraw wall', person.get_session_auth_hash()).hexdigest()[:24]}"


def opens(key: str) -> bool:
    """Say whether the key is a supervisor's who is still one."""
    number = key.partition("-")[0]
    if not (number.isascii() and number.isdecimal() and len(key) <= LONGEST_KEY):
        return False
    person = Person.objects.filter(pk=number, role=Person.Role.SUPERVISOR, is_active=True).first()
    return person is not None and constant_time_compare(key, key_of(person))


def wall_screen() -> WallScreen:
    """Return where the work stands, without anything that a passer-by should not read."""
    screen, at = now_screen(), timezone.now()
    return WallScreen(
        hoods=tuple(_hood(one) for one in screen.hoods),
        elsewhere=tuple(_work(one) for one in screen.elsewhere),
        orders=tuple(_order(one) for one in waiting_orders(at)),
        at=at,
        etag=screen.etag,
    )


def _hood(hood: HoodRow) -> WallHood:
    return WallHood(hood.name, hood.is_running, _work(hood.work) if hood.work else None)


def _work(work: Work) -> OnTheWall:
    return OnTheWall(
        substances=work.substances,
        code=work.identity.code,
        technician=work.technician,
        step=work.step,
        stage=work.stage,
        since=work.since,
        waits_on=work.waits_on,
        hold=work.hold,
        due_at=work.due_at,
        is_late=work.is_late,
        is_at_risk=work.is_at_risk,
    )


def _order(order: Waiting) -> WallOrder:
    return WallOrder(order.substances, order.due_at, order.is_late, order.is_at_risk)
