"""Everybody who works here, as the supervisor looks after them; and their badges on paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.utils import timezone
from django.utils.safestring import SafeString

from checklists.models import Person, PinTries, SecurityEvent
from checklists.models.identities import OF_BADGE
from checklists.worklists.squares import square
from compounding.formulary import codes

Somebody = Person
SHOWN_EVENTS = 40


@dataclass(frozen=True)
class PersonRow:
    """One person: whether they may sign in, since when they have their PIN, until when they are shut out."""

    pk: int
    name: str
    role: str
    is_active: bool
    pin_set_at: datetime | None
    pin_due_at: datetime | None
    shut_until: datetime | None
    signed_in_at: datetime | None


@dataclass(frozen=True)
class EventRow:
    """Something that happened at the door."""

    at: datetime
    what: str
    by: str
    about: str
    address: str


@dataclass(frozen=True)
class PeopleScreen:
    """Everybody, and what happened lately."""

    people: tuple[PersonRow, ...]
    events: tuple[EventRow, ...]


@dataclass(frozen=True)
class Badge:
    """One badge to cut out."""

    name: str
    role: str
    text: str
    square: SafeString


def find(number: int) -> Person | None:
    """Return the person of that number."""
    return Person.objects.filter(pk=number).first()


def people_screen() -> PeopleScreen:
    """Return the list."""
    now = timezone.now()
    tries = PinTries.objects.filter(about__startswith=OF_BADGE, shut_until__gt=now)
    shut = {one.about.removeprefix(OF_BADGE): one.shut_until for one in tries}
    events = SecurityEvent.objects.select_related("person")[:SHOWN_EVENTS]
    return PeopleScreen(
        people=tuple(_row(person, shut) for person in Person.objects.order_by("-is_active", "role", "name")),
        events=tuple(
            EventRow(
                event.at, event.what, event.person.name if event.person else "", event.about, event.address
            )
            for event in events
        ),
    )


def _row(person: Person, shut: dict[str, datetime | None]) -> PersonRow:
    days = timedelta(days=settings.PIN_DAYS)
    return PersonRow(
        pk=person.pk,
        name=person.name,
        role=person.get_role_display(),
        is_active=person.is_active,
        pin_set_at=person.pin_set_at,
        pin_due_at=person.pin_set_at + days if person.pin_set_at and days else None,
        shut_until=shut.get(person.badge),
        signed_in_at=person.last_login,
    )


def badge_sheet() -> tuple[Badge, ...]:
    """Return the badge of everybody who may sign in."""
    return tuple(
        Badge(person.name, person.get_role_display(), codes.grouped(person.badge), square(person.badge))
        for person in Person.objects.filter(is_active=True).order_by("name")
    )
