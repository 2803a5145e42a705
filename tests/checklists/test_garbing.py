"""Garbing: asked for each preparation, or once a session for as long as it is not known to have ended.

The rule of its end is our own (no source): `checklists/run/garbing.py`.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from cast import Cast, Hands, hands, key, order
from checklists import run
from checklists.models import Garbing
from compounding.formulary.policy import change_policy
from tests.checklists.walks import beside, sign_in

GARB = ["put_on_covers", "wash_hands", "rub_hands", "put_on_gloves"]
ONDANSETRON = ("ondansetron-nacl-50", "8 mg")


def once_a_session(hours: int = 4) -> None:
    change_policy(reason="garbed once a session", by="test", garb_hours=hours)


def garbed(work: Hands) -> Hands:
    """Return the work of somebody who has just put gloves on."""
    return work.to("identify_hood")


def again(first: Hands, *what: str) -> Hands:
    """Return the next preparation of the same technician, the first being handed over."""
    first.to("final_check")
    return Hands(first.cast, order(*(what or ONDANSETRON)), first.technician, first.checker).open()


def asks(work: Hands) -> bool:
    kinds = list(work.preparation.steps.values_list("kind", flat=True))
    assert [kind for kind in kinds if kind in GARB] in ([], GARB)
    return GARB[0] in kinds


def test_by_default_it_is_asked_for_each_preparation(everybody: Cast) -> None:
    assert asks(again(garbed(beside(everybody, order(*ONDANSETRON)))))


def test_once_a_session_the_second_preparation_goes_straight_to_the_hood(everybody: Cast) -> None:
    once_a_session()
    first = garbed(beside(everybody, order(*ONDANSETRON)))
    since = Garbing.objects.get(person=first.technician).at
    second = again(first)
    assert not asks(second)
    assert since.isoformat() in second.preparation.entries.get(act="open").text
    assert second.to_release().preparation.state == "released"


def test_another_technician_is_asked(everybody: Cast) -> None:
    once_a_session()
    garbed(beside(everybody, order(*ONDANSETRON)))
    assert asks(beside(everybody, order(*ONDANSETRON)))


@pytest.mark.parametrize(("hours", "is_asked"), [(3, False), (5, True)])
def test_it_stands_for_the_hours_of_the_policy(everybody: Cast, hours: int, is_asked: bool) -> None:
    once_a_session(4)
    first = garbed(beside(everybody, order(*ONDANSETRON))).to("final_check")
    with time_machine.travel(timezone.now() + timedelta(hours=hours), tick=False):
        later = order(*ONDANSETRON)
        assert asks(Hands(first.cast, later, first.technician, first.checker).open()) is is_asked


def test_putting_the_work_aside_ends_it_and_taking_it_up_asks(everybody: Cast) -> None:
    once_a_session()
    work = garbed(beside(everybody, order(*ONDANSETRON))).to("draw")
    run.pause(code=work.code, person=work.technician, key=key(), reason="called away")
    assert Garbing.objects.get(person=work.technician).ended_by == "paused"
    run.clear_hood(code=work.code, person=work.technician, key=key())
    run.resume(code=work.code, person=work.technician, key=key())
    assert list(work.preparation.steps.filter(finished_at=None).values_list("kind", flat=True))[:4] == GARB


def test_signing_out_ends_it(everybody: Cast) -> None:
    once_a_session()
    first = garbed(beside(everybody, order(*ONDANSETRON)))
    sign_in(first.technician).post("/sign-out/")
    assert Garbing.objects.get(person=first.technician).ended_by == "signed-out"
    assert asks(again(first))


def test_giving_the_work_up_ends_it(everybody: Cast) -> None:
    once_a_session()
    work = garbed(beside(everybody, order(*ONDANSETRON)))
    run.abandon(code=work.code, person=work.technician, key=key(), reason="a torn wrap")
    assert Garbing.objects.get(person=work.technician).ended_by == "given-up"


def test_hazardous_work_always_garbs_anew_and_leaves_nothing_that_stands(everybody: Cast) -> None:
    once_a_session()
    first = garbed(beside(everybody, order(*ONDANSETRON)))
    hazardous = again(first, "fluorouracil-nacl-500", "800 mg")
    assert asks(hazardous)
    garbed(hazardous)
    assert not Garbing.objects.filter(person=first.technician, ended_at=None).exists()


def test_work_paused_while_hands_are_washed_begins_with_the_covers(everybody: Cast) -> None:
    work = hands(everybody, order(*ONDANSETRON)).to("rub_hands")
    before = list(work.preparation.steps.filter(finished_at=None).values_list("kind", flat=True))
    run.pause(code=work.code, person=work.technician, key=key(), reason="called away")
    run.resume(code=work.code, person=work.technician, key=key())
    left = list(work.preparation.steps.filter(finished_at=None).values_list("kind", flat=True))
    assert left == [*([] if work.preparation.hood else GARB[:2]), *before]
