"""Acts about people: the first supervisor, unlocking, ending sessions, badges that were given out."""

from __future__ import annotations

import secrets
from datetime import timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from checklists.models import FirstCode, FormerBadge, Person, PinTries
from checklists.models.identities import OF_ADDRESS, OF_BADGE
from checklists.refusals import BadgeWasSomebodys, NoName, NotTheFirstCode, PinsDiffer, SetUpAlready
from checklists.run import pins
from checklists.run.events import note
from compounding.formulary import codes

GOOD_FOR = timedelta(hours=1)
LONGEST_NAME = 80
BEFORE_ANYBODY = "set-up code"


def is_set_up() -> bool:
    """Say whether there is anybody who could sign in."""
    return Person.objects.exists()


def make_first_code() -> str:
    """Return a new code for the first supervisor; an earlier one is good no longer."""
    if is_set_up():
        raise SetUpAlready()
    code = "-".join("".join(secrets.choice(codes.ALPHABET) for _ in range(4)) for _ in range(4))
    with transaction.atomic(durable=True):
        FirstCode.objects.all().delete()
        FirstCode.objects.create(hash=make_password(_plain(code)), ends_at=timezone.now() + GOOD_FOR)
        note("set-up code made")
    return code


def set_up(*, code: str, name: str, pin: str, again: str, address: str = "") -> Person:
    """Return the first supervisor, made with the code; nobody else may be there yet."""
    if is_set_up():
        raise SetUpAlready()
    pins.count_try(BEFORE_ANYBODY, address)
    first = FirstCode.objects.filter(ends_at__gt=timezone.now()).first()
    if first is None or not check_password(_plain(code[:40]), first.hash):
        note("wrong set-up code", address=address)
        raise NotTheFirstCode()
    if not name.strip() or len(name.strip()) > LONGEST_NAME or not name.strip().isprintable():
        raise NoName()
    if pin != again:
        raise PinsDiffer()
    pins.refuse_unfit(None, pin)
    with transaction.atomic(durable=True):
        return _first(name.strip(), pin, address)


def _first(name: str, pin: str, address: str) -> Person:
    if not FirstCode.objects.select_for_update().exists() or is_set_up():
        raise SetUpAlready()
    badge = codes.make("B", secrets.token_bytes(5))
    person = Person.objects.create_user(badge=badge, name=name, role="supervisor", pin=pin, is_staff=True)
    FirstCode.objects.all().delete()
    PinTries.objects.filter(about=f"{OF_BADGE}{BEFORE_ANYBODY}").delete()
    note("first supervisor set up", person=person, address=address)
    return person


def unlock(*, person: Person, by: Person) -> None:
    """Let somebody try their PIN again at once; addresses that were shut open too."""
    with transaction.atomic(durable=True):
        PinTries.objects.filter(about=f"{OF_BADGE}{person.badge}").delete()
        PinTries.objects.filter(about__startswith=OF_ADDRESS).delete()
        note("unlocked", person=by, about=person.name)


def end_sessions(*, person: Person, by: Person, address: str = "") -> None:
    """Sign somebody out on every device."""
    with transaction.atomic(durable=True):
        Person.objects.filter(pk=person.pk).update(sessions_ended=F("sessions_ended") + 1)
        note("signed out everywhere", person=by, about=person.name, address=address)


def refuse_used_badge(badge: str) -> None:
    """Refuse a badge that anybody had before."""
    if FormerBadge.objects.filter(badge=badge).exists():
        raise BadgeWasSomebodys()


def retire_badge(person: Person, badge: str) -> None:
    """Keep a badge that the person no longer has."""
    FormerBadge.objects.create(badge=badge, person=person, at=timezone.now())


def _plain(code: str) -> str:
    return code.upper().translate(codes.SPACES).translate(codes.READ_AS)
