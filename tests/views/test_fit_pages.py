"""Fit to work on its pages: what is due, what is refused stays typed, and the demo's own scenario."""

from __future__ import annotations

import io
import json

import pytest
from django.conf import settings
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from cast import Cast
from checklists.management.seeding_fitness import seed_fitness
from checklists.models import Duty, Person, QualificationKind
from tests.checklists.walks import sign_in, words


def test_the_demo_seeds_them(db) -> None:
    call_command("seed_demo", stdout=io.StringIO())
    assert Person.objects.filter(qualifications__isnull=False).distinct().count() == 2
    assert Duty.objects.count() == 4


@pytest.fixture
def fitted(everybody: Cast) -> Cast:
    text = (settings.ROOT / "shared" / "scenario" / "fitness.json").read_text(encoding="utf-8")
    seed_fitness(json.loads(text), timezone.now())
    return everybody


def test_what_is_due_stands_by_its_day(fitted: Cast) -> None:
    screen = sign_in(fitted["supervisor"]).get(reverse("fit")).context["screen"]
    overdue = {(row.what, row.whose) for row in screen.overdue}
    assert overdue == {
        ("Hazardous drug handling", "Tomas Rivett"),
        ("Buffer room, monthly cleaning", "cleaning"),
    }
    assert ("Media fill", "Mara Okonjo") in {(row.what, row.whose) for row in screen.soon}
    assert [row.due for row in screen.later] == sorted(row.due for row in screen.later)


def test_a_reading_that_was_refused_stays_typed(fitted: Cast) -> None:
    browser = sign_in(fitted["technician"])
    where = reverse("duty", args=[Duty.objects.get(kind="temperature").pk])
    answer = browser.post(where, {"value": "9.4", "key": "k"})
    assert answer.status_code == 409
    assert b'value="9.4"' in answer.content
    assert "outside 2 to 8 °C" in words(answer)
    assert browser.post(where, {"value": "9.4", "note": "told the pharmacist", "key": "k"}).status_code == 302
    page = browser.get(where)
    assert page.content.count(b"chart-beyond") == 2
    assert "Not all right 2 of the last 9 times." in words(page)
    log = browser.get(reverse("duty_csv", args=[Duty.objects.get(kind="temperature").pk]))
    assert log.content.decode().count("\n") == 10


def test_a_result_is_recorded_by_a_supervisor(fitted: Cast) -> None:
    desk, who = sign_in(fitted["supervisor"]), fitted["second technician"]
    kind = QualificationKind.objects.get(code="hazardous-drugs")
    told = {"person": who.pk, "kind": kind.pk, "on": timezone.localdate().isoformat(), "passed": "no"}
    answer = desk.post(reverse("qualify"), told)
    assert answer.status_code == 409
    assert f'value="{who.pk}" selected' in answer.content.decode()
    assert desk.post(reverse("qualify"), told | {"result": "a spill was not seen"}).status_code == 302
    assert "a spill was not seen" in words(desk.get(reverse("fit_people")))


@pytest.mark.parametrize("sent", [{}, {"person": "x", "kind": "9" * 99}, {"person": "٣", "kind": "-1"}])
def test_a_strange_result_is_refused_in_words(fitted: Cast, sent: dict[str, str]) -> None:
    answer = sign_in(fitted["supervisor"]).post(reverse("qualify"), sent)
    assert answer.status_code == 409
    assert "Choose a person" in words(answer)


def test_with_nothing_asked_the_pages_say_so(everybody: Cast) -> None:
    desk = sign_in(everybody["supervisor"])
    assert "No duty is known yet" in words(desk.get(reverse("fit")))
    assert "No qualification is asked yet" in words(desk.get(reverse("fit_people")))
    assert desk.get(reverse("duty", args=[999])).status_code == 404
