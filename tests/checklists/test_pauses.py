"""Pausing, clearing the hood, taking up again, also by another: a pause keeps the hood (shared design 1)."""

from __future__ import annotations

import pytest

from cast import Cast, Hands, hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.method.procedure import enter_hood, garb, make_ready
from checklists.refusals import AlreadyAtWork, HoodInUse, NoReason, NotOpen, NotPaused, NotYours, WrongRole
from compounding.formulary.policy import current_policy
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside, everything

GARB = ["put_on_covers", "wash_hands", "rub_hands", "put_on_gloves"]
IN_AND_READY = ["identify_hood", "wipe_surface", "arrange", "swab_sites", "peel_wraps", "disinfect_gloves"]


@pytest.fixture(scope="module")
def drawing(house: Cast) -> Hands:
    return beside(house, order("ondansetron-nacl-50", "8 mg")).to("draw")


def pause(work: Hands, reason: str = "end of shift") -> None:
    run.pause(code=work.code, person=work.technician, key=key(), reason=reason)


def clear(work: Hands) -> None:
    run.clear_hood(code=work.code, person=work.technician, key=key())


def resume(work: Hands, who: str = "") -> None:
    if who:
        work = Hands(work.cast, work.order, work.cast[who], work.checker, work.code)
    run.resume(code=work.code, person=work.technician, key=key())


def left(work: Hands) -> list[str]:
    return list(work.preparation.steps.filter(finished_at=None).values_list("kind", flat=True))


def test_a_pause_keeps_the_hood_until_it_is_cleared(everybody: Cast, drawing: Hands) -> None:
    hood = drawing.preparation.hood
    pause(drawing)
    assert (drawing.preparation.state, drawing.preparation.hood) == ("paused", hood)
    other = hands(everybody, order("ketorolac-syringe", "30 mg")).to("identify_hood")
    with pytest.raises(HoodInUse, match=f"{hood.name} holds"):
        other.finish(other.step, scan=hood.code)
    clear(drawing)
    assert drawing.preparation.hood is None
    other.finish(other.step, scan=hood.code)
    assert other.preparation.hood == hood


def test_a_pause_without_clearing_goes_on_where_it_stopped_once_gloves_are_disinfected(
    everybody: Cast, drawing: Hands
) -> None:
    before = left(drawing)
    pause(drawing)
    resume(drawing)
    assert left(drawing) == ["disinfect_gloves", *before]
    assert drawing.to_release().preparation.state == "released"


def test_after_clearing_the_hood_is_entered_and_made_ready_again(everybody: Cast, drawing: Hands) -> None:
    before = left(drawing)
    pause(drawing)
    clear(drawing)
    resume(drawing)
    assert left(drawing) == GARB + IN_AND_READY + before
    policy = current_policy()
    planned = (*garb(policy), *enter_hood(policy), *make_ready(["vial 1", "vial 2", "bag"], policy))
    steps = drawing.preparation.steps.filter(finished_at=None)[: len(planned)]
    assert [(step.kind, step.about) for step in steps] == [(one.kind, one.about) for one in planned]
    assert drawing.step.started_at is not None
    assert drawing.to_release().preparation.state == "released"
    assert first_fault(drawing.preparation) is None


@pytest.mark.parametrize("kind", ["wipe_surface", "arrange"])
def test_work_cleared_while_it_entered_does_not_go_on_without_a_hood(everybody: Cast, kind: str) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to(kind)
    pause(work)
    clear(work)
    resume(work)
    assert left(work)[: len(GARB) + 1] == [*GARB, "identify_hood"]
    work.to("draw")
    assert work.preparation.hood == work.cast.hood
    assert work.to_release().preparation.state == "released"


@pytest.mark.parametrize("kind", ["read_worksheet", "gather_supplies", "first_check", "wipe_items"])
def test_work_paused_before_the_hood_goes_on_where_it_stopped(everybody: Cast, kind: str) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to(kind)
    before = left(work)
    pause(work)
    clear(work)
    resume(work)
    assert left(work) == before


@pytest.mark.parametrize("kind", ["apply_label", "dispose", "hand_over", "clean_up"])
def test_work_paused_after_the_hood_does_not_enter_it_again(everybody: Cast, kind: str) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to(kind)
    before = left(work)
    pause(work)
    clear(work)
    resume(work)
    assert left(work) == before
    assert work.to_release().preparation.state == "released"


def test_another_technician_takes_it_up(everybody: Cast, drawing: Hands) -> None:
    pause(drawing)
    resume(drawing, "second technician")
    assert drawing.preparation.technician == everybody["second technician"]
    with pytest.raises(NotYours, match="is Tomas Rivett's work"):
        drawing.do()
    run.pause(code=drawing.code, person=everybody["second technician"], key=key(), reason="back to you")
    resume(drawing)
    assert drawing.to_release().preparation.state == "released"


def test_nobody_takes_up_a_second_preparation(everybody: Cast, drawing: Hands) -> None:
    hands(everybody, order("ketorolac-syringe", "30 mg"))
    pause(drawing)
    before = everything()
    with pytest.raises(AlreadyAtWork, match="You have ketorolac"):
        run.resume(code=drawing.code, person=everybody["technician"], key=key())
    assert everything() == before


@pytest.mark.parametrize("who", ["pharmacist", "supervisor"])
def test_only_a_technician_takes_up(everybody: Cast, drawing: Hands, who: str) -> None:
    pause(drawing)
    before = everything()
    with pytest.raises(WrongRole):
        run.resume(code=drawing.code, person=everybody[who], key=key())
    assert everything() == before


@pytest.mark.parametrize("act", [run.clear_hood, run.resume], ids=["clear", "take up"])
def test_what_is_not_paused_is_neither_cleared_nor_taken_up(
    everybody: Cast, drawing: Hands, act: object
) -> None:
    before = everything()
    with pytest.raises(NotPaused, match="is not paused"):
        act(code=drawing.code, person=everybody["second technician"], key=key())
    assert everything() == before


@pytest.mark.parametrize(
    "reason", ["", "  ", "x" * 501, "x" * 10_000, "a\0b"], ids=lambda text: ascii(text[:5])
)
def test_a_pause_says_why(everybody: Cast, drawing: Hands, reason: str) -> None:
    before = everything()
    with pytest.raises(Refusal, match=r"reason"):
        pause(drawing, reason)
    assert everything() == before
    assert NoReason().sentence == "Write the reason in a few words; it is kept in the record."


def test_paused_work_is_not_paused_again(everybody: Cast, drawing: Hands) -> None:
    pause(drawing)
    with pytest.raises(NotOpen, match="is paused; this step cannot be done now"):
        pause(drawing)


def test_discarded_work_keeps_the_hood_until_it_is_cleared(everybody: Cast, drawing: Hands) -> None:
    hood = drawing.preparation.hood
    run.abandon(code=drawing.code, person=drawing.technician, key=key(), reason="a torn wrap")
    assert drawing.preparation.hood == hood
    hood.surface_wiped_at = None
    hood.save()
    run.clear_hood(code=drawing.code, person=everybody["second technician"], key=key())
    assert drawing.preparation.hood is None
    hood.refresh_from_db()
    assert hood.surface_wiped_at is not None


def squeeze(work: Hands) -> None:
    """Leave no room between any two steps, as many insertions at one place do in the end."""
    for place, step in enumerate(work.preparation.steps.all(), 1):
        work.preparation.steps.filter(pk=step.pk).update(place=place)


def test_steps_put_in_find_room_however_often_that_happens(everybody: Cast, drawing: Hands) -> None:
    squeeze(drawing)
    expected = left(drawing)
    for _again in range(3):
        pause(drawing)
        clear(drawing)
        resume(drawing)
        assert left(drawing) == GARB + IN_AND_READY + expected
        drawing.to("draw")
    drawing.to("show")
    drawing.see(drawing.step, 1, "3")
    squeeze(drawing)
    drawing.resolve("draw-again")
    assert left(drawing)[:4] == ["swab_sites", "draw", "show", "swab_port"]
    places = list(drawing.preparation.steps.values_list("place", flat=True))
    assert places == sorted(set(places))
    drawing.checker = everybody["third pharmacist"]
    assert drawing.to_release().preparation.state == "released"


def test_one_key_sent_with_two_acts_does_both(everybody: Cast) -> None:
    work, once = hands(everybody, order("ondansetron-nacl-50", "8 mg")), key()
    run.pause(code=work.code, person=work.technician, key=once, reason="called away")
    run.resume(code=work.code, person=work.technician, key=once)
    assert work.preparation.state == "in-work"
