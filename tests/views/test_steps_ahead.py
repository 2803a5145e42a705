"""What a tablet may keep of a preparation: its own technician's steps, and no amount of a draw."""

from __future__ import annotations

import json

import pytest
from django.test import Client
from django.urls import reverse

from cast import Cast, Hands, order
from checklists.method.away import away_of
from compounding.reckoning.quantities import write
from tests.checklists.walks import UNLIKELY, beside, everything, sign_in


@pytest.fixture(scope="module")
def work(house: Cast) -> Hands:
    return beside(house, order("vancomycin-nacl-250", UNLIKELY)).to("put_on_covers")


def pack(browser: Client, work: Hands) -> dict:
    return json.loads(browser.get(reverse("steps_ahead", args=[work.code])).content)


def test_every_step_from_now_on_is_there_and_what_goes_on_has_its_screen(
    everybody: Cast, work: Hands
) -> None:
    kept = pack(sign_in(work.technician), work)
    left = list(work.preparation.steps.filter(finished_at=None))
    assert [one["place"] for one in kept["steps"]] == [step.place for step in left]
    assert [one["goes"] for one in kept["steps"]] == [away_of(step).value for step in left]
    for one in kept["steps"]:
        assert ("html" in one) == (one["goes"] == "on")
        assert bool(one["why"]) == (one["goes"] != "on")


def test_neither_a_token_nor_what_is_required_of_a_draw_is_kept(everybody: Cast, work: Hands) -> None:
    """The draw that the checker reads blind waits: its amount is on no screen that is kept before it."""
    answer = sign_in(work.technician).get(reverse("steps_ahead", args=[work.code]))
    text = answer.content.decode()
    assert "csrfmiddlewaretoken" not in text
    assert answer["Cache-Control"] == "no-store"
    before = json.loads(text)["steps"]
    draws = [one for one in before if one["name"] == "Draw"]
    assert draws
    assert all("html" not in one for one in draws)
    amounts = {write(draw.target) for draw in work.worksheet.draws}
    waits = json.loads(text)["waits"]
    assert not [amount for amount in amounts if amount in waits]


@pytest.mark.parametrize("who", ["second technician"])
def test_nobody_else_is_given_any(everybody: Cast, work: Hands, who: str) -> None:
    assert pack(sign_in(everybody[who]), work) == {"code": work.code, "steps": []}


def test_a_step_of_another_session_is_not_taken(everybody: Cast, work: Hands) -> None:
    where = reverse("keep_step", args=[work.code, work.step.place])
    browser = sign_in(everybody["second technician"])
    before = everything()
    sent = {"key": "once", "person": str(work.technician.pk)}
    assert browser.post(where, sent).status_code == 409
    assert everything() == before


def test_what_became_of_it_is_said(everybody: Cast, work: Hands) -> None:
    place = work.step.place
    sent = {
        "key": "once",
        "person": str(work.technician.pk),
        "done_at": "2026-11-25T10:00:00.000Z",
        "sent_at": "2026-11-25T10:01:00.000Z",
    }
    where, browser = reverse("keep_step", args=[work.code, place]), sign_in(work.technician)
    said = [json.loads(browser.post(where, sent | {"key": once}).content) for once in ("1", "1", "2")]
    assert [one["state"] for one in said] == ["taken", "taken", "done already"]
    refused = browser.post(reverse("keep_step", args=[work.code, 1]), sent | {"key": "3"})
    assert json.loads(refused.content)["state"] == "held"
    told = browser.post(where, sent | {"key": "4", "done_at": "never"})
    assert (told.status_code, json.loads(told.content)["state"]) == (409, "refused")
