"""The first supervisor comes in by a code that a command prints: there is no first password.

Source: the project's own rule.
"""

from __future__ import annotations

import io
import re
from datetime import timedelta

import pytest
import time_machine
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from checklists.models import Person, SecurityEvent
from compounding.formulary import codes
from tests.checklists.walks import words

pytestmark = pytest.mark.django_db


def code_printed() -> str:
    told = io.StringIO()
    call_command("set_up", stdout=told)
    return re.search(r"Set-up code: (\S+)", told.getvalue())[1]


FIRST = {"name": "Noor Haddad", "pin": "9753", "again": "9753"}


def test_the_first_supervisor_is_set_up_with_the_printed_code_once() -> None:
    browser = Client()
    assert "Nobody can sign in yet." in words(browser.get(reverse("sign_in")))
    code = code_printed()
    wrong = browser.post(reverse("set_up"), FIRST | {"code": "0000-0000-0000-0000"})
    assert (wrong.status_code, Person.objects.count()) == (409, 0)
    assert "This is not the set-up code, or its hour is over." in words(wrong)
    assert "at least 4 digits" in words(
        browser.post(reverse("set_up"), FIRST | {"code": code, "pin": "1", "again": "1"})
    )
    assert browser.post(reverse("set_up"), FIRST | {"code": code.lower()}).url == reverse("badges")
    (person,) = Person.objects.all()
    assert (person.name, person.role, person.is_staff) == ("Noor Haddad", "supervisor", True)
    assert codes.grouped(person.badge) in words(browser.get(reverse("badges")))
    assert Client().post(reverse("set_up"), FIRST | {"code": code}).url == reverse("sign_in")
    assert Person.objects.count() == 1
    with pytest.raises(CommandError, match="has its people already"):
        call_command("set_up")
    assert Client().post(reverse("sign_in"), {"badge": person.badge, "pin": "9753"}).status_code == 302
    assert SecurityEvent.objects.filter(what="first supervisor set up", person=person).exists()


def test_a_set_up_code_is_good_for_an_hour_and_the_last_one_only() -> None:
    first, second = code_printed(), code_printed()
    assert Client().post(reverse("set_up"), FIRST | {"code": first}).status_code == 409
    with time_machine.travel(timezone.now() + timedelta(hours=1, seconds=1)):
        assert Client().post(reverse("set_up"), FIRST | {"code": second}).status_code == 409
    assert not Person.objects.exists()
