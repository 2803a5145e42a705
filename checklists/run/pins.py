"""PINs: tried, counted, shut for a while after too many wrong ones, changed and never used again.

Five tries for a badge, twenty from an address; each further wrong one shuts for twice as long, up to an hour.
It always opens again by itself: nobody can lock the only pharmacist out for the night. Site habit, no source;
NIST SP 800-63B asks for a limit and lets the wait grow, memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils import timezone

from checklists.models import FormerPin, Person, PinTries
from checklists.models.identities import OF_ADDRESS, OF_BADGE
from checklists.refusals import (
    NotIdentified,
    PinsDiffer,
    PinTooPlain,
    PinTooShort,
    PinUsedBefore,
    TooManyTries,
    WrongOwnPin,
)
from checklists.run.events import note
from compounding.formulary import scanning
from compounding.reckoning.refusals import Refusal

LONGEST_PIN = 64
FREE_TRIES = {OF_BADGE: 5, OF_ADDRESS: 20}
LONGEST_WAIT = timedelta(hours=1)
FORGOTTEN_AFTER = timedelta(hours=12)
KEPT_PINS = 5
IN_A_ROW = "01234567890 09876543210"


@dataclass(frozen=True)
class TriedPin:
    """A PIN that was typed under a signature, tried before the act began."""

    is_right: bool


def try_pin(person: Person, pin: str, *, address: str = "") -> TriedPin:
    """Try the PIN of somebody known. Refuses TooManyTries without a look; a right one clears the count."""
    about = f"{OF_BADGE}{person.badge}"
    _count(about, address)
    is_right = len(pin) <= LONGEST_PIN and person.check_password(pin)
    if is_right:
        PinTries.objects.filter(about=about).delete()
    else:
        _count_address(address)
        note("wrong PIN", person=person, address=address)
    return TriedPin(is_right)


def identify(*, badge: str, pin: str, address: str = "") -> Person:
    """Return whose badge and PIN these are; refuse NotIdentified alike for a wrong badge and a wrong PIN."""
    _refuse_shut_address(address)
    try:
        code = scanning.read_own_code(badge, "B")
    except Refusal:
        _count_address(address)
        raise NotIdentified() from None
    person = Person.objects.filter(badge=code, is_active=True).first()
    if person is None:
        _count(f"{OF_BADGE}{code}", address)
        make_password(pin[:LONGEST_PIN])  # as long as a real one takes, so that time does not tell a badge
        _count_address(address)
        note("unknown badge", about=code, address=address)
        raise NotIdentified()
    if not try_pin(person, pin, address=address).is_right:
        raise NotIdentified()
    return person


def open_lock(*, person: Person, pin: str, address: str = "") -> None:
    """Open the lock for the person who is signed in, or refuse."""
    _refuse_shut_address(address)
    if not try_pin(person, pin, address=address).is_right:
        raise WrongOwnPin()


def is_due(person: Person) -> bool:
    """Say whether the person has to choose a new PIN: it was given by somebody else, or it is too old."""
    days = settings.PIN_DAYS
    if person.pin_set_at is None:
        return True
    return bool(days) and timezone.now() - person.pin_set_at > timedelta(days=days)


def change_pin(*, person: Person, present: str, new: str, again: str, address: str = "") -> None:
    """Take a new PIN that the person chose, typed twice. Every other device of theirs is signed out."""
    if not try_pin(person, present, address=address).is_right:
        raise WrongOwnPin()
    if new != again:
        raise PinsDiffer()
    refuse_unfit(person, new)
    with transaction.atomic(durable=True):
        give_pin(person, new, at=timezone.now())
        note("PIN changed", person=person, address=address)


def give_pin(person: Person, pin: str, *, at: datetime | None) -> None:
    """Keep a new PIN, and the former as not to be used again. `at` None: to be changed at sign-in."""
    if person.pk and person.password:
        FormerPin.objects.create(person=person, hash=person.password, at=timezone.now())
    person.set_password(pin)
    person.pin_set_at = at
    if person.pk:
        person.save(update_fields=["password", "pin_set_at"])


def refuse_unfit(person: Person | None, pin: str) -> None:
    """Refuse a new PIN that is too short, guessed at once, or one of the person's last."""
    digits = settings.PIN_DIGITS
    if not (pin.isascii() and pin.isdecimal() and digits <= len(pin) <= LONGEST_PIN):
        raise PinTooShort(digits=str(digits))
    if len(set(pin)) == 1 or pin in IN_A_ROW:
        raise PinTooPlain()
    if person is None or not person.pk:
        return
    former = person.former_pins.values_list("hash", flat=True)[: KEPT_PINS - 1]
    if any(check_password(pin, hash) for hash in (person.password, *former)):
        raise PinUsedBefore(count=str(KEPT_PINS))


def count_try(about: str, address: str) -> None:
    """Count a try at something that is nobody's badge."""
    _count(f"{OF_BADGE}{about}", address)


def _count(about: str, address: str) -> None:
    """Count a try before it is made, so that many at one instant are not more than their number."""
    _refuse_shut_address(address)
    with transaction.atomic():
        tries = _tries(about)
        if tries.shut_until and tries.shut_until > timezone.now():
            raise _shut(tries.shut_until)
        _add(tries, FREE_TRIES[OF_BADGE])


def _count_address(address: str) -> None:
    if address:
        with transaction.atomic():
            _add(_tries(f"{OF_ADDRESS}{address}"[:80]), FREE_TRIES[OF_ADDRESS])


def _refuse_shut_address(address: str) -> None:
    now = timezone.now()
    tries = PinTries.objects.filter(about=f"{OF_ADDRESS}{address}"[:80], shut_until__gt=now).first()
    if tries and tries.shut_until:
        raise _shut(tries.shut_until)


def _tries(about: str) -> PinTries:
    now = timezone.now()
    tries, _is_new = PinTries.objects.select_for_update(no_key=True).get_or_create(
        about=about, defaults={"last_at": now}
    )
    if now - tries.last_at > FORGOTTEN_AFTER:
        tries.failures, tries.shut_until = 0, None
    return tries


def _add(tries: PinTries, free: int) -> None:
    now = timezone.now()
    tries.failures, tries.last_at = tries.failures + 1, now
    if tries.failures >= free:
        doublings = min(tries.failures - free, 10)
        tries.shut_until = now + min(timedelta(minutes=2**doublings), LONGEST_WAIT)
    if tries.failures == free:
        badge = tries.about.removeprefix(OF_BADGE)
        whose = Person.objects.filter(badge=badge).first()
        note("shut after too many wrong PINs", person=whose, about="" if whose else tries.about)
    tries.save()


def _shut(until: datetime) -> TooManyTries:
    left = until - timezone.now()
    minutes = int(left.total_seconds() // 60) + 1
    at = timezone.localtime(until)
    return TooManyTries(when=f"at {at:%H:%M:%S}, in {minutes} minute{'s' if minutes > 1 else ''} or less")
