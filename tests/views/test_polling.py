"""Waiting screens ask for news: nothing new is a bare 304, anything new is the piece itself."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from cast import Cast, Hands, key, order
from checklists import run
from tests.checklists.walks import sign_in, words

HTMX = {"HTTP_HX_REQUEST": "true"}


def poll(browser: Client, where: str, etag: str):
    return browser.get(where, HTTP_IF_NONE_MATCH=etag, **HTMX)


def test_a_waiting_tablet_hears_nothing_until_something_happened(everybody: Cast, shown: Hands) -> None:
    tablet = sign_in(shown.technician)
    etag = tablet.get(reverse("step", args=[shown.code])).headers["ETag"]
    where = reverse("poll_step", args=[shown.code])
    answer = poll(tablet, where, etag)
    assert (answer.status_code, answer.content) == (304, b"")
    run.take_check(code=shown.code, person=everybody["pharmacist"], key=key(), place=shown.step.place)
    answer = poll(tablet, where, etag)
    assert answer.status_code == 200
    assert "Ilse Varga has it open" in words(answer)
    assert poll(tablet, where, answer.headers["ETag"]).status_code == 304


def test_a_waiting_tablet_goes_on_when_the_syringe_was_read(everybody: Cast, shown: Hands) -> None:
    tablet = sign_in(shown.technician)
    etag = tablet.get(reverse("step", args=[shown.code])).headers["ETag"]
    shown.see(shown.step, 2, "17.5")
    answer = poll(tablet, reverse("poll_step", args=[shown.code]), etag)
    assert answer.status_code == 200
    assert b"step-swab_port" in answer.content
    assert b"<html" not in answer.content


def test_a_waiting_tablet_is_told_of_a_hold(everybody: Cast, shown: Hands) -> None:
    tablet = sign_in(shown.technician)
    etag = tablet.get(reverse("step", args=[shown.code])).headers["ETag"]
    shown.see(shown.step, 2, "18.5")
    answer = poll(tablet, reverse("poll_step", args=[shown.code]), etag)
    assert "The amounts of a draw differ" in words(answer)


def test_a_waiting_phone_hears_nothing_until_something_happened(everybody: Cast, shown: Hands) -> None:
    phone = sign_in(everybody["pharmacist"])
    etag = phone.get(reverse("waiting")).context["screen"].etag
    where = reverse("waiting_rows")
    assert poll(phone, where, etag).status_code == 304
    run.raise_hold(code=shown.code, person=shown.technician, key=key(), note="a drop")
    answer = poll(phone, where, etag)
    assert answer.status_code == 200
    assert "something is wrong" in words(answer)
    assert poll(phone, where, answer.context["screen"].etag).status_code == 304


def test_the_waiting_list_is_each_persons_own(everybody: Cast, shown: Hands) -> None:
    first, second = (
        sign_in(everybody[who]).get(reverse("waiting")).context["screen"].etag
        for who in ("pharmacist", "second pharmacist")
    )
    assert first != second


def test_the_desk_hears_nothing_until_something_happened(everybody: Cast, shown: Hands) -> None:
    desk = sign_in(everybody["supervisor"])
    etag = desk.get(reverse("now")).context["screen"].etag
    where = reverse("now_rows")
    assert poll(desk, where, etag).status_code == 304
    shown.see(shown.step, 2, "17.5")
    assert poll(desk, where, etag).status_code == 200


def test_the_desk_hears_of_a_hood_switched_on_or_off(everybody: Cast, shown: Hands) -> None:
    desk = sign_in(everybody["supervisor"])
    etag = desk.get(reverse("now")).context["screen"].etag
    run.switch_hood(hood=everybody.hood, to="off")
    assert poll(desk, reverse("now_rows"), etag).status_code == 200


def test_what_is_polled_is_not_stored(everybody: Cast, shown: Hands) -> None:
    phone = sign_in(everybody["pharmacist"])
    etag = phone.get(reverse("waiting")).context["screen"].etag
    for answer in (phone.get(reverse("waiting_rows")), poll(phone, reverse("waiting_rows"), etag)):
        assert answer.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("etag", ["", "x", '"' * 5000, "W/*", "*", "٣", "\u00e9"])
def test_a_strange_mark_only_brings_the_news(everybody: Cast, shown: Hands, etag: str) -> None:
    phone, tablet = sign_in(everybody["pharmacist"]), sign_in(shown.technician)
    assert poll(phone, reverse("waiting_rows"), etag).status_code == 200
    assert poll(tablet, reverse("poll_step", args=[shown.code]), etag).status_code == 200


def test_the_waiting_list_shows_what_waits_and_nothing_else(everybody: Cast, shown: Hands) -> None:
    page = words(sign_in(everybody["pharmacist"]).get(reverse("waiting")))
    assert "vancomycin 865 mg" in page
    shown.see(shown.step, 2, "17.5")
    page = words(sign_in(everybody["pharmacist"]).get(reverse("waiting")))
    assert "vancomycin 865 mg" not in page


def test_a_maker_is_told_why_they_may_not_take_it(everybody: Cast, shown: Hands) -> None:
    type(shown.preparation).objects.filter(code=shown.code).update(technician=everybody["pharmacist"])
    phone = sign_in(everybody["pharmacist"])
    row = phone.get(reverse("waiting")).context["screen"].rows[0]
    assert row.why_not.startswith("Ilse Varga made a part of this preparation.")
    assert row.why_not in words(phone.get(reverse("waiting")))


def test_what_waits_longest_stands_first(everybody: Cast, shown: Hands) -> None:
    from tests.checklists.walks import beside

    beside(everybody, order("ketorolac-syringe", "30 mg")).to("first_check")
    rows = sign_in(everybody["pharmacist"]).get(reverse("waiting")).context["screen"].rows
    assert [row.since for row in rows] == sorted(row.since for row in rows)
    assert len(rows) == 2
