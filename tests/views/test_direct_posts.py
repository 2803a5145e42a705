"""A direct POST to the release is refused for every reason there is: 409, in words, nothing changed."""

from __future__ import annotations

import pytest
import time_machine
from django.urls import reverse

from cast import PIN, Cast, Hands
from checklists.models import Preparation
from tests.checklists.obstacles import OBSTACLES, Obstacle
from tests.checklists.test_gate import KINDS_WALKED
from tests.checklists.walks import everything, sign_in, words


def post_release(work: Hands, who: str = "pharmacist", pin: str = PIN, place: int | None = None):
    """Post the release as a browser without any page of ours would; say what the page says."""
    browser, step = sign_in(work.cast[who]), work.preparation.steps.get(kind="release")
    before = everything()
    address = reverse("release", args=[work.code, step.place if place is None else place])
    answer = browser.post(address, {"pin": pin})
    return answer, words(answer), everything() == before


@pytest.mark.parametrize("obstacle", OBSTACLES, ids=lambda one: one.what)
@pytest.mark.usefixtures("unguarded")
def test_what_stands_in_the_way_is_said_on_the_page(
    everybody: Cast, walked: Hands, obstacle: Obstacle
) -> None:
    obstacle.put(walked)
    with time_machine.travel(obstacle.when(), tick=True):
        answer, said, is_unchanged = post_release(walked)
    assert answer.status_code == 409
    assert obstacle.sentence in said
    assert is_unchanged


@pytest.mark.parametrize("kind", KINDS_WALKED)
def test_a_step_that_is_not_finished_is_said_on_the_page(everybody: Cast, walked: Hands, kind: str) -> None:
    step = walked.preparation.steps.filter(kind=kind).last()
    step.finished_at = step.finished_by = None
    step.save()
    answer, said, is_unchanged = post_release(walked)
    assert answer.status_code == 409
    assert f"The step “{kind.replace('_', ' ')}” is not finished." in said
    assert is_unchanged


def test_the_same_person_as_maker_and_checker_is_told_so(everybody: Cast, walked: Hands) -> None:
    Preparation.objects.filter(code=walked.code).update(technician=everybody["pharmacist"])
    answer, said, is_unchanged = post_release(walked)
    assert answer.status_code == 409
    assert "Ilse Varga made a part of it and cannot release it." in said
    assert is_unchanged


def test_a_maker_who_checked_is_named_to_whoever_releases(everybody: Cast, walked: Hands) -> None:
    walked.preparation.steps.filter(kind="final_check").update(finished_by=everybody["technician"])
    answer, said, is_unchanged = post_release(walked, "third pharmacist")
    assert answer.status_code == 409
    assert "Mara Okonjo both made and checked a part of it." in said
    assert is_unchanged


@pytest.mark.parametrize("pin", ["", "1357", "2468" * 2500, "\0", "😀", "\uff12\uff14\uff16\uff18"])
def test_a_wrong_pin_is_told_and_releases_nothing(everybody: Cast, walked: Hands, pin: str) -> None:
    answer, said, is_unchanged = post_release(walked, pin=pin)
    assert answer.status_code == 409
    assert "The PIN is not right. Nothing was signed; type it again." in said
    assert is_unchanged


def test_the_same_post_releases_when_nothing_stands_in_the_way(everybody: Cast, walked: Hands) -> None:
    answer, _said, is_unchanged = post_release(walked)
    assert answer.status_code == 302
    assert not is_unchanged
    assert walked.preparation.state == "released"


def test_a_release_posted_again_is_told_that_it_is_released(everybody: Cast, walked: Hands) -> None:
    post_release(walked)
    answer, said, is_unchanged = post_release(walked)
    assert answer.status_code == 409
    assert "It is released already." in said
    assert is_unchanged


@pytest.mark.parametrize("place", [0, 1, 10**18, 10**19, 10**30])
def test_a_release_at_another_place_is_no_way_around_the_gate(
    everybody: Cast, walked: Hands, place: int
) -> None:
    OBSTACLES[0].put(walked)
    answer, said, is_unchanged = post_release(walked, place=place)
    assert answer.status_code in (404, 409)
    assert said.strip()
    assert is_unchanged


@pytest.mark.parametrize("way", ["carry-on", "check-again", "accept", "", "\0", "x" * 10_000])
def test_a_difference_is_not_accepted_by_a_direct_post(everybody: Cast, shown: Hands, way: str) -> None:
    shown.see(shown.step, 2, "18.5")
    hold = shown.preparation.holds.get()
    browser = sign_in(everybody["second pharmacist"])
    before = everything()
    address = reverse("resolve_hold", args=[shown.code, hold.pk])
    answer = browser.post(address, {"resolution": way, "reason": "it is close enough", "pin": PIN})
    assert answer.status_code == 409
    assert "“the amounts of a draw differ” is not resolved that way." in words(answer)
    assert everything() == before


@pytest.mark.parametrize("name", ["inspect", "refuse_check", "take_check", "recalculate", "sight_draw"])
def test_no_check_is_posted_at_a_step_of_another_kind(everybody: Cast, shown: Hands, name: str) -> None:
    """A draw waits to be read; every other check is posted there, and the read at the steps around it."""
    browser = sign_in(everybody["pharmacist"])
    before = everything()
    for step in shown.preparation.steps.all():
        if step == shown.step and name in ("sight_draw", "refuse_check", "take_check"):
            continue
        told = {"volume": "17.5", "draw": "2", "reason": "no", "volume_1": "20", "volume_2": "17.3"}
        answer = browser.post(reverse(name, args=[shown.code, step.place]), {**told, "materials": "1"})
        assert answer.status_code == 409, step
        assert words(answer).strip()
    assert everything() == before
