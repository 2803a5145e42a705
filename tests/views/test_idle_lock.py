"""A device nobody used locks and keeps its place: 5 minutes, an hour in the hood. Site habit, no source."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import quote

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from cast import PIN, Cast, Hands
from tests.checklists.walks import everything, sign_in, words

MINUTE = timedelta(minutes=1)


def is_locked(answer: object) -> bool:
    return answer.status_code == 302 and answer.url.startswith(reverse("lock"))


@pytest.fixture
def clock():
    with time_machine.travel(timezone.now(), tick=False) as travelling:
        yield travelling


def test_five_idle_minutes_are_allowed_and_no_second_more(everybody: Cast, clock) -> None:
    browser = sign_in(everybody["technician"])
    assert browser.get(reverse("to_make")).status_code == 200
    clock.shift(5 * MINUTE)
    assert browser.get(reverse("to_make")).status_code == 200
    clock.shift(5 * MINUTE + timedelta(seconds=1))
    assert is_locked(browser.get(reverse("to_make")))


def test_use_keeps_it_open(everybody: Cast, clock) -> None:
    browser = sign_in(everybody["technician"])
    for _minute in range(12):
        assert browser.get(reverse("to_make")).status_code == 200
        clock.shift(4 * MINUTE)


def test_a_waiting_page_that_asks_for_news_is_no_use(everybody: Cast, clock) -> None:
    browser = sign_in(everybody["pharmacist"])
    browser.get(reverse("waiting"))
    for _poll in range(5):
        clock.shift(MINUTE)
        browser.get(reverse("waiting_rows"), HTTP_IF_NONE_MATCH='"x"', HTTP_HX_REQUEST="true")
    clock.shift(timedelta(seconds=1))
    answer = browser.get(reverse("waiting_rows"), HTTP_IF_NONE_MATCH='"x"', HTTP_HX_REQUEST="true")
    assert reverse("lock") in answer.headers["HX-Redirect"]


def test_hands_in_the_hood_have_an_hour(everybody: Cast, shown: Hands, clock) -> None:
    browser = sign_in(shown.technician)
    where = reverse("step", args=[shown.code])
    assert browser.get(where).status_code == 200
    clock.shift(60 * MINUTE)
    assert browser.get(where).status_code == 200
    clock.shift(60 * MINUTE + timedelta(seconds=1))
    assert is_locked(browser.get(where))


def test_what_is_posted_to_a_locked_device_changes_nothing(
    everybody: Cast,
    shown: Hands,
    clock,
) -> None:
    browser = sign_in(everybody["pharmacist"])
    browser.get(reverse("waiting"))
    clock.shift(6 * MINUTE)
    before = everything()
    where = reverse("sight_draw", args=[shown.code, shown.step.place])
    assert is_locked(browser.post(where, {"draw": "2", "volume": "17.5"}))
    assert everything() == before


def lock(browser: Client) -> None:
    assert browser.get(reverse("lock")).status_code == 200


def test_once_locked_every_page_asks_for_the_pin(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    lock(browser)
    for name in ("home", "to_make", "list_orders", "hoods"):
        assert is_locked(browser.get(reverse(name)))
    assert browser.get(reverse("about")).status_code == 200


def test_the_persons_own_pin_opens_it_where_it_was(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    lock(browser)
    locked = browser.get(reverse("list_orders"))
    assert locked.url == f"{reverse('lock')}?next={quote(reverse('list_orders'), safe='')}"
    opened = browser.post(locked.url, {"pin": PIN})
    assert opened.url == reverse("list_orders")
    assert browser.get(opened.url).status_code == 200


@pytest.mark.parametrize(
    "pin",
    ["", "1357", "2468 ", "\uff12\uff14\uff16\uff18", "2" * 10_000, "\0", "😀"],
    ids=lambda pin: ascii(pin[:9]),
)
def test_a_wrong_pin_keeps_it_locked_and_says_so(everybody: Cast, pin: str) -> None:
    browser = sign_in(everybody["technician"])
    lock(browser)
    answer = browser.post(reverse("lock"), {"pin": pin})
    assert answer.status_code == 409
    assert "The PIN is not right. Type it again." in words(answer)
    assert is_locked(browser.get(reverse("to_make")))


def test_the_lock_never_leads_elsewhere(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    for target in ("https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"):
        lock(browser)
        answer = browser.post(f"{reverse('lock')}?next={quote(target)}", {"pin": PIN})
        assert answer.url == reverse("to_make")


def test_somebody_else_may_go_on_at_a_locked_device(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    lock(browser)
    answer = browser.post(reverse("hand_over"), {"badge": everybody["second technician"].badge, "pin": PIN})
    assert answer.status_code == 302
    assert browser.get(reverse("to_make")).status_code == 200


def test_the_same_person_may_sign_in_anew_at_a_locked_device(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    lock(browser)
    browser.post(reverse("hand_over"), {"badge": everybody["technician"].badge, "pin": PIN})
    assert browser.get(reverse("to_make")).status_code == 200


def test_a_lock_of_nobody_asks_to_sign_in() -> None:
    assert Client().get(reverse("lock")).url.startswith(reverse("sign_in"))
