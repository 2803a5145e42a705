"""The wall and what is at risk: where the work stands, without anything a passer-by should not read."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from cast import Cast, Hands, key, order
from checklists import run
from checklists.daybook import DAY
from checklists.models import Person
from checklists.worklists import prospects, wall
from tests.checklists.walks import beside, sign_in, words


@pytest.fixture(scope="module")
def yesterday(house: Cast) -> Hands:
    """A preparation of yesterday: 60 s at its first step, and 300 s until its first check was taken."""
    with time_machine.travel(timezone.now() - DAY, tick=False) as clock:
        work = beside(house, order("vancomycin-nacl-250", "1100 mg"))
        clock.shift(60)
        work.to("first_check")
        clock.shift(300)
        work.to_release()
    run.keep_days()
    return work


def at_the_wall(everybody: Cast):
    return Client().get(reverse("wall_screen", args=[wall.key_of(everybody["supervisor"])]))


def test_with_no_past_nothing_is_foretold(everybody: Cast, shown: Hands) -> None:
    screen = sign_in(everybody["supervisor"]).get(reverse("now")).context["screen"]
    works = [hood.work for hood in screen.hoods if hood.work]
    assert works
    assert {work.is_at_risk for work in works} == {False}


def test_the_wall_names_no_patient_and_no_amount(everybody: Cast, shown: Hands) -> None:
    run.raise_hold(code=shown.code, person=shown.technician, key=key(), note="17.5 mL for Iris Calloway")
    page = words(at_the_wall(everybody))
    placed = shown.order
    assert "vancomycin" in page
    assert shown.code[1:5] in page
    for told in (placed.patient_name, placed.patient_identifier, placed.ward, "1961", "865"):
        assert told not in page
    assert not re.search(r"\d\s*(mg|mL|g|mcg|units|mEq|%)", page)


def test_an_order_on_the_wall_is_told_by_its_substances(everybody: Cast, shown: Hands) -> None:
    order("heparin-d5w-250", "25000 units", patient_name="Caspian Mwangi")
    page = words(at_the_wall(everybody))
    assert "heparin" in page
    assert "Caspian" not in page
    assert "25,000" not in page
    assert "250 mL" not in page


def test_a_key_is_a_supervisors_and_dies_with_their_sessions(everybody: Cast) -> None:
    who = everybody["supervisor"]
    assert at_the_wall(everybody).status_code == 200
    for wrong in ("x", "1", f"{who.pk}-", f"{who.pk}-{'0' * 24}", "9" * 400, f"{who.pk}9-abc"):
        assert Client().get(reverse("wall_screen", args=[wrong])).status_code == 404
        assert Client().get(reverse("wall_rows", args=[wrong])).status_code == 404
    old = wall.key_of(who)
    run.end_sessions(person=Person.objects.get(pk=who.pk), by=who)
    assert not wall.opens(old)
    assert not wall.opens(wall.key_of(everybody["technician"]))


def test_a_wall_hears_nothing_until_something_happened(everybody: Cast, shown: Hands) -> None:
    with time_machine.travel(timezone.now(), tick=False):
        where = reverse("wall_rows", args=[wall.key_of(everybody["supervisor"])])
        etag = Client().get(where).context["screen"].etag
        assert Client().get(where, HTTP_IF_NONE_MATCH=etag, HTTP_HX_REQUEST="true").status_code == 304
        shown.see(shown.step, 2, "17.5")
        assert Client().get(where, HTTP_IF_NONE_MATCH=etag, HTTP_HX_REQUEST="true").status_code == 200


def test_what_remains_is_the_sum_of_the_means(everybody: Cast, yesterday: Hands) -> None:
    """Reckoned by hand: 60 s for reading, 300 s for waiting and checking; all else took no time."""
    work = beside(everybody, order("vancomycin-nacl-250", "1100 mg"))
    left = prospects.left_of([work.preparation], timezone.now())
    assert left[work.preparation.pk] == timedelta(seconds=360)
    work.do()
    left = prospects.left_of([work.preparation], timezone.now())
    assert left[work.preparation.pk] == timedelta(seconds=300)


def test_a_due_time_that_will_be_missed_is_at_risk(everybody: Cast, yesterday: Hands) -> None:
    soon = timezone.localtime(timezone.now() + timedelta(minutes=4)).strftime("%Y-%m-%dT%H:%M")
    begun = beside(everybody, order("vancomycin-nacl-250", "1100 mg", due_at=soon))
    order("vancomycin-nacl-250", "1100 mg", due_at=soon)
    screen = sign_in(everybody["supervisor"]).get(reverse("now")).context["screen"]
    work = next(one for one in screen.elsewhere if one.identity.url_code == begun.code)
    assert work.is_at_risk
    assert not work.is_late
    assert next(one.is_at_risk for one in screen.orders if one.number != begun.order.number)


def test_one_preparations_timeline_holds_all_its_time(everybody: Cast, yesterday: Hands) -> None:
    page = sign_in(everybody["supervisor"]).get(reverse("finished_one", args=[yesterday.code]))
    drawn = page.context["screen"].timeline
    waited = next(lane for lane in drawn.lanes if lane.what == "waited")
    assert sum(piece.width for piece in waited.pieces) == pytest.approx(300 / 360 * 860, abs=3)
    assert drawn.sentence.startswith("It took 6 min 00 s from opening to end; 1 min 00 s of that were work")
