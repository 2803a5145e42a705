"""The cast kept for a whole module, preparations walked to a place, and the database compared with itself."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from functools import cache
from html import unescape
from typing import Any

import pytest
from django.apps import apps
from django.contrib.sessions.models import Session
from django.db import connection, transaction
from django.test import Client
from django.utils import timezone

from cast import PIN, Cast, Hands, cast, hands, order
from checklists.models import Hood, Person, PinTries, SecurityEvent, guard
from compounding.formulary import codes
from compounding.formulary.models import Order

#: 865 mg of a powder at 50 mg/mL is 17.3 mL, drawn as 17.5 mL in a 30 mL syringe with a mark each 1 mL
#: (half marks count): numbers that stand on a page only if that amount does.
UNLIKELY = "865 mg"


@contextmanager
def undone() -> Iterator[None]:
    """Undo everything at the end; acts, which insist on a transaction of their own, work inside."""
    block = transaction.atomic()
    block._from_testcase = True
    with block:
        yield
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def house(django_db_setup: None, django_db_blocker: Any) -> Iterator[Cast]:
    """Everybody and everything, kept for a module; to be asked for by its own fixtures, not by tests."""
    with django_db_blocker.unblock(), undone():
        yield cast()


@pytest.fixture
def everybody(house: Cast, db: None) -> Cast:
    """Everybody and everything; what a test does is undone after it."""
    return house


@contextmanager
def past_the_guard() -> Iterator[None]:
    """Change the record as somebody would who owns the database, and leave the guard as it was."""
    _constraints("IMMEDIATE")
    guard.lift(connection)
    yield
    _constraints("IMMEDIATE")
    guard.lay(connection)
    _constraints("DEFERRED")


def _constraints(when: str) -> None:
    """PostgreSQL lifts no trigger of a table on which a deferred one still waits."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"SET CONSTRAINTS ALL {when}")


@pytest.fixture
def unguarded(db: None) -> None:
    """Let a test plant in the record what the guard would keep out; undone with all that it does."""
    _constraints("IMMEDIATE")
    guard.lift(connection)


@pytest.fixture(scope="module")
def walked(house: Cast) -> Hands:
    """A powder-vial preparation, every step done but the release; ask for `everybody` too."""
    return hands(house, order("vancomycin-nacl-250", "1100 mg")).to("release")


@pytest.fixture(scope="module")
def shown(house: Cast) -> Hands:
    """A powder-vial preparation whose last draw, number 2, is shown; ask for `everybody` too."""
    return at_drug_show(beside(house, order("vancomycin-nacl-250", UNLIKELY)))


@pytest.fixture(scope="module")
def at_first_check(house: Cast) -> Hands:
    """The same, waiting for its first check; ask for `everybody` too."""
    return beside(house, order("vancomycin-nacl-250", UNLIKELY)).to("first_check")


def beside(house: Cast, asked: Order) -> Hands:
    """Return an opened preparation of a technician and hoods of its own, not in any other's way."""
    count = Person.objects.count()
    technician = Person.objects.create_user(
        badge=codes.make("B", count), name=f"Technician {count}", role="technician", pin=PIN
    )
    since = timezone.now() - timedelta(hours=3)
    own = [
        Hood.objects.create(
            name=f"{hood.airflow} {count}",
            code=codes.make("H", count + 1000 * number),
            airflow=hood.airflow,
            takes_hazardous=hood.takes_hazardous,
            deck_width_cm=180,
            deck_depth_cm=75,
            certified_until=hood.certified_until,
            running_since=since,
        )
        for number, hood in enumerate((house.hood, house.vertical))
    ]
    cast = Cast({**house.people, "technician": technician}, *own)
    return Hands(cast, asked, technician, house["pharmacist"]).open()


def at_drug_show(work: Hands) -> Hands:
    """Go on to the show of the last draw, the drug's own."""
    last = work.worksheet.draws[-1].number
    while (step := work.step) and not (step.kind == "show" and last in step.about["draws"]):
        work.do(step)
    return work


@cache
def _tables() -> tuple[tuple[str, str], ...]:
    beside = (Session, PinTries, SecurityEvent)  # what is kept of those who are refused
    models = [model for model in apps.get_models() if model not in beside]
    return tuple((model._meta.db_table, model._meta.pk.column) for model in models)


def everything() -> dict[str, list[tuple[Any, ...]]]:
    """Return every row of every table, as it is stored, but the sessions and what was tried at the door."""
    rows = {}
    with connection.cursor() as cursor:
        for table, key in _tables():
            cursor.execute(f"SELECT * FROM {table} ORDER BY {key}")
            rows[table] = cursor.fetchall()
    return rows


def sign_in(person: Person) -> Client:
    """Return the browser of somebody who is signed in."""
    browser = Client()
    browser.force_login(Person.objects.get(pk=person.pk))  # as they are now: sessions may have been ended
    return browser


def words(answer: Any) -> str:
    """Return what a page says, as a person reads it."""
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", answer.content.decode())))
