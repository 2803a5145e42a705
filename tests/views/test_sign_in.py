"""Signing in by badge and PIN, handing over, signing out: who is who, and no way in by accident."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from cast import PIN, Cast
from checklists.models import Person
from compounding.formulary import codes
from tests.checklists.walks import everything, sign_in, words

TOLD = "Badge and PIN do not belong together. Scan the badge and type its PIN."


def enter(browser: Client, badge: str, pin: str = PIN, name: str = "sign_in", **told: str):
    return browser.post(reverse(name), {"badge": badge, "pin": pin, **told})


@pytest.mark.parametrize(
    ("who", "home"), [("technician", "to_make"), ("pharmacist", "waiting"), ("supervisor", "now")]
)
def test_badge_and_pin_lead_to_the_first_page_of_the_role(everybody: Cast, who: str, home: str) -> None:
    browser = Client()
    assert enter(browser, everybody[who].badge).url == reverse(home)
    assert browser.get("/").url == reverse(home)
    assert browser.get(reverse(home)).status_code == 200


def test_a_badge_is_read_with_spaces_and_small_letters(everybody: Cast) -> None:
    badge = codes.grouped(everybody["technician"].badge).lower()
    assert enter(Client(), badge).status_code == 302


BAD_BADGES = (
    "", " ", "words", "-1", "1,5", "1e3", "5 mg", "x" * 10_000, "\0", "😀", "1.50", ".5", "٣", "B00000000",
    "HCRHE6CTP", "(01)02420200000217(17)271231(10)A", "' OR 1=1 --",
)  # fmt: skip


@pytest.mark.parametrize("name", ["sign_in", "hand_over"])
@pytest.mark.parametrize("badge", BAD_BADGES, ids=lambda text: ascii(text[:12]))
def test_a_badge_that_is_none_is_told_and_lets_nobody_in(everybody: Cast, badge: str, name: str) -> None:
    browser = sign_in(everybody["supervisor"]) if name == "hand_over" else Client()
    before = everything()
    answer = enter(browser, badge, name=name)
    assert answer.status_code == 409
    assert TOLD in words(answer)
    assert everything() == before
    if name == "sign_in":
        assert browser.get("/").url.startswith(reverse("sign_in"))


@pytest.mark.parametrize(
    "pin",
    ["", "1357", "2468 ", " 2468", "٢٤٦٨", "\uff12\uff14\uff16\uff18", "2" * 10_000, "\0", "2468\0", "😀"],
    ids=lambda text: ascii(text[:12]),
)  # fmt: skip
def test_a_wrong_pin_lets_nobody_in(everybody: Cast, pin: str) -> None:
    browser, before = Client(), everything()
    answer = enter(browser, everybody["technician"].badge, pin)
    assert answer.status_code == 409
    assert TOLD in words(answer)
    assert everything() == before


def test_another_persons_pin_does_not_fit(everybody: Cast) -> None:
    everybody_else = Person.objects.get(pk=everybody["pharmacist"].pk)
    everybody_else.set_password("9753")
    everybody_else.save()
    assert enter(Client(), everybody["technician"].badge, "9753").status_code == 409
    assert enter(Client(), everybody["pharmacist"].badge, "9753").status_code == 302


def test_somebody_who_left_is_not_let_in(everybody: Cast) -> None:
    Person.objects.filter(pk=everybody["technician"].pk).update(is_active=False)
    assert enter(Client(), everybody["technician"].badge).status_code == 409


def test_the_page_does_not_say_whether_badge_or_pin_was_wrong(everybody: Cast) -> None:
    wrong_pin = enter(Client(), everybody["technician"].badge, "0000")
    wrong_badge = enter(Client(), codes.make("B", 1))
    assert TOLD in words(wrong_pin)
    assert TOLD in words(wrong_badge)
    assert wrong_pin.status_code == wrong_badge.status_code


def test_after_signing_in_one_goes_on_where_one_wanted_to(everybody: Cast) -> None:
    browser = Client()
    wanted = browser.get(reverse("list_orders"))
    answer = enter(browser, everybody["technician"].badge, next=wanted.url.split("next=")[1])
    assert answer.url == reverse("list_orders")


@pytest.mark.parametrize(
    "target",
    [
        "https://elsewhere.example/",
        "//elsewhere.example",
        "javascript:alert(1)",
        "http:///x",
        "\\\\x",
        "x" * 10_000,
    ],
    ids=lambda text: text[:20],
)
def test_signing_in_never_leads_elsewhere(everybody: Cast, target: str) -> None:
    answer = enter(Client(), everybody["technician"].badge, next=target)
    assert answer.status_code == 302
    assert "elsewhere" not in answer.url
    assert not answer.url.startswith(("http", "//", "javascript", "\\"))


def test_handing_over_lets_the_next_person_act_and_keeps_the_place(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    answer = enter(
        browser, everybody["second technician"].badge, name="hand_over", next=reverse("list_orders")
    )
    assert answer.url == reverse("list_orders")
    assert int(browser.session["_auth_user_id"]) == everybody["second technician"].pk


def test_a_failed_hand_over_leaves_the_first_person_signed_in(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    enter(browser, everybody["second technician"].badge, "0000", name="hand_over")
    assert int(browser.session["_auth_user_id"]) == everybody["technician"].pk


def test_nothing_of_the_first_persons_session_goes_to_the_next(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    session = browser.session
    session["in_hood"] = True
    session.save()
    enter(browser, everybody["pharmacist"].badge, name="hand_over")
    assert "in_hood" not in browser.session


def test_signing_out_ends_it(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    assert browser.get(reverse("sign_out")).status_code == 405
    assert browser.post(reverse("sign_out")).url == reverse("sign_in")
    assert browser.get(reverse("to_make")).status_code == 302


def test_the_session_gets_a_new_name_at_signing_in(everybody: Cast) -> None:
    browser = Client()
    browser.get(reverse("sign_in"))
    enter(browser, everybody["technician"].badge)
    first = browser.cookies["counterdraw"].value
    enter(browser, everybody["pharmacist"].badge, name="hand_over")
    assert browser.cookies["counterdraw"].value != first


def test_a_pin_is_kept_as_a_hash_only(everybody: Cast) -> None:
    assert all(PIN not in person.password for person in Person.objects.all())


def test_the_page_about_the_program_needs_no_sign_in() -> None:
    answer = Client().get(reverse("about"))
    assert answer.status_code == 200
    assert "not a medical device" in words(answer)
