"""What follows from a reason, one by one: containers checked, volumes accounted for, nobody reads twice.

Common practice, no source, but for the 30 min of a restarted hood and hand hygiene: USP <797> (2023), memory.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from cast import Cast, Hands, key, order
from checklists import run
from checklists.models import Hood, Label
from checklists.refusals import (
    Disclosed,
    HoodNotWarm,
    LabelOutdated,
    NoSuchReason,
    NotReleasable,
    NotSaidWhich,
    OnHold,
)
from checklists.remains import Remains
from compounding.formulary.models import Lot
from tests.checklists.test_mishaps import finish, read, say, warm_up, with_a_fourth
from tests.checklists.walks import beside, everything, past_the_guard, undone

POTASSIUM, MAGNESIUM = 1, 2


@pytest.fixture
def powder(everybody: Cast) -> Hands:
    """22 mL of 2 vials, 11 mL of each, is to be drawn; each holds 20 mL."""
    work = with_a_fourth(beside(everybody, order("vancomycin-nacl-250", "1100 mg")))
    while not (work.step.kind == "draw" and work.step.about["draw"] == 3):
        work.do()
    return work


@pytest.fixture
def additives(everybody: Cast) -> Hands:
    """10 mL of potassium chloride, all of its vial, are drawn; then 4 of 10 mL of magnesium."""
    return with_a_fourth(beside(everybody, order("potassium-magnesium-nacl-1000", "20 mEq|2 g")))


def kinds(work: Hands) -> list[str]:
    return [step.kind for step in work.preparation.steps.filter(finished_at=None)]


def waste(work: Hands) -> list[tuple[str, int | None, Decimal]]:
    return [(one.container, one.draw, one.volume_ml.normalize()) for one in work.preparation.waste.all()]


def to_draw(work: Hands, number: int) -> Hands:
    while not (work.step.kind == "draw" and work.step.about["draw"] == number):
        work.do()
    return work


def test_a_syringe_lost_while_it_is_drawn_is_drawn_from_what_is_left(additives: Hands) -> None:
    work = to_draw(additives, MAGNESIUM)
    say(work, "dropped-syringe")
    assert waste(work) == [("vial 2", MAGNESIUM, Decimal(4))]
    assert kinds(work)[:6] == ["wipe_items", "peel_wraps", "disinfect_gloves", "swab_sites", "draw", "show"]
    finish(work)
    assert [one.attempt for one in work.preparation.readings.filter(draw=MAGNESIUM)] == [2]
    assert work.preparation.materials.count() == 3, "6 mL are left: no further vial"


def test_lost_twice_it_asks_for_a_further_vial_and_scans_it(additives: Hands) -> None:
    work = to_draw(additives, MAGNESIUM)
    for _ in range(2):
        say(work, "touched-needle")
        to_draw(work, MAGNESIUM)
    further = work.preparation.materials.get(stands_for="vial 2")
    assert further.container == "vial 3"
    assert further.lot.product.gtin == work.worksheet.container("vial 2").product
    assert Remains(work.preparation).draw(MAGNESIUM).sources[0].container == "vial 3"
    finish(work)
    assert work.preparation.state == "released"


def test_past_the_mark_counts_as_a_full_syringe(additives: Hands) -> None:
    work = to_draw(additives, MAGNESIUM)
    say(work, "past-the-mark")
    assert waste(work) == [("vial 2", MAGNESIUM, Decimal(5))], "its syringe holds 5 mL"


def test_a_powder_vial_with_too_little_left_is_followed_by_one_that_is_made_ready(powder: Hands) -> None:
    say(powder, "dropped-syringe")
    gathered = [
        s.about["container"]
        for s in powder.preparation.steps.filter(kind="gather_container", finished_at=None)
    ]
    assert gathered == ["vial 3", "vial 4", "diluent vial 3", "diluent vial 4"]
    finish(powder)
    assert powder.preparation.state == "released"
    assert [one.attempt for one in powder.preparation.readings.filter(draw=1)] == [1, 2]


def test_a_shown_syringe_is_shown_anew_and_its_reader_cannot_read_it_again(additives: Hands) -> None:
    work = additives.to("swab_port")
    say(work, "dropped-syringe")
    assert kinds(work)[:8] == [
        "gather_container", "wipe_items", "peel_wraps", "disinfect_gloves", "swab_sites", "draw", "show",
        "swab_port",
    ]  # fmt: skip
    work.to("show")
    with pytest.raises(Disclosed):
        work.see(work.step, POTASSIUM, "10")
    work.see(work.step, POTASSIUM, "10", work.cast["second pharmacist"])
    assert work.step.kind == "swab_port"


def test_a_syringe_read_and_then_lost_at_the_same_showing_is_read_anew(
    powder: Hands, everybody: Cast
) -> None:
    work = with_a_fourth(beside(everybody, order("vancomycin-nacl-250", "1100 mg"))).to("show")
    assert work.step.about["draws"] == [1, 2]
    work.see(work.step, 1, "20")
    say(work, "dropped-syringe", "1")
    work.to("show")
    work.see(work.step, 2, "20")
    assert work.step.kind == "show", "the new syringe 1 was not read yet"
    work.see(work.step, 1, "20", work.cast["second pharmacist"])
    assert work.step.kind == "add_diluent_to_vial"


def test_of_several_syringes_it_is_said_which(everybody: Cast) -> None:
    work = beside(everybody, order("vancomycin-nacl-250", "1100 mg")).to("show")
    before = everything()
    with pytest.raises(NotSaidWhich, match="1, 2"):
        say(work, "dropped-syringe")
    assert everything() == before


def test_what_cannot_be_said_now_is_refused_and_on_hold_the_hold_comes_first(additives: Hands) -> None:
    with pytest.raises(NoSuchReason):
        say(additives, "dropped-syringe")
    additives.to("draw")
    say(additives, "unsure")
    with pytest.raises(OnHold):
        say(additives, "dropped-syringe")
    assert additives.preparation.mishaps.get().hold == additives.preparation.holds.get()


def test_what_was_added_can_only_be_held_or_given_up(additives: Hands) -> None:
    work = additives.to("mix")
    with pytest.raises(NoSuchReason):
        say(work, "dropped-syringe")
    say(work, "cored-stopper", "vial 1")
    assert work.preparation.holds.get().note.startswith("A piece of the stopper is in the vial: vial 1.")


def test_withdrawn_diluent_is_not_withdrawn_twice(everybody: Cast) -> None:
    work = beside(everybody, order("aminophylline-d5w-100", "350 mg")).to("show")
    say(work, "dropped-syringe")
    assert work.preparation.holds.get().note.endswith("drawn again, too much would be missing.")
    assert not work.preparation.waste.exists()


def test_a_bag_that_leaks_after_withdrawal_is_replaced_and_withdrawn_from_anew(everybody: Cast) -> None:
    work = with_a_fourth(beside(everybody, order("aminophylline-d5w-100", "350 mg"))).to("open_ampoule")
    say(work, "spoiled-bag")
    assert kinds(work)[:8] == [
        "gather_container", "wipe_items", "peel_wraps", "disinfect_gloves", "swab_sites", "draw", "show",
        "discard_diluent",
    ]  # fmt: skip
    finish(work)
    assert Remains(work.preparation).draw(1).sources[0].container == "bag 2"
    assert work.preparation.state == "released"


def test_a_leaking_bag_with_medicine_ends_the_work_and_everything_is_accounted_for(additives: Hands) -> None:
    work = additives.to("mix")
    say(work, "leaking-bag")
    assert work.preparation.state == "discarded"
    told = work.preparation.entries.get(act="abandon").text
    assert f'"labels_to_destroy":["{work.preparation.labels.get().code}"]' in told
    assert '"vial 1":"10 mL"' in told


def test_a_hood_that_stopped_is_warm_again_only_after_30_minutes(additives: Hands) -> None:
    work = additives.to("swab_sites")
    say(work, "power-cut")
    assert not work.preparation.holds.exists(), "nothing stood open yet"
    assert kinds(work)[:4] == ["restart_hood", "identify_hood", "wipe_surface", "swab_sites"]
    work.do()
    with pytest.raises(HoodNotWarm):
        work.do()
    since = work.preparation.opened_at - timedelta(minutes=31)
    Hood.objects.filter(occupied_by=work.preparation).update(running_since=since)
    work.do()


def test_what_stood_open_when_the_hood_stopped_is_a_pharmacists_to_judge(additives: Hands) -> None:
    say(additives.to("show"), "power-cut")
    assert "without first air" in additives.preparation.holds.get().note


def test_called_away_keeps_the_place_and_says_how_long_it_lay(additives: Hands) -> None:
    work = to_draw(additives, MAGNESIUM)
    place = work.step.place
    say(work, "called-away")
    assert work.preparation.state == "paused"
    run.resume(code=work.code, person=work.cast["second technician"], key=key())
    assert '"lay_seconds":' in work.preparation.entries.get(act="resume").text
    garb = ["put_on_covers", "wash_hands", "rub_hands", "put_on_gloves"]
    assert kinds(work)[:6] == [*garb, "disinfect_gloves", "draw"], "another comes ungarbed"
    assert work.preparation.steps.filter(finished_at=None)[5].place == place
    assert work.preparation.readings.get().draw == POTASSIUM


@pytest.mark.parametrize("reason", ["torn-glove", "spill", "power-cut", "dropped-syringe"])
def test_paused_and_taken_out_while_it_is_put_right_the_hood_is_entered_anew(
    powder: Hands, reason: str
) -> None:
    say(powder, reason)
    if powder.preparation.holds.exists():
        powder.resolve("carry-on", powder.cast["deciding"])
    while powder.step.kind != "draw":
        with undone():
            say(powder, "called-away")
            run.clear_hood(code=powder.code, person=powder.technician, key=key())
            finish(powder)
            assert powder.preparation.state == "released"
        powder.do()
        warm_up(powder, powder.done[-1])


def test_a_further_container_that_ends_earlier_makes_the_label_void(additives: Hands) -> None:
    work = to_draw(additives, POTASSIUM)
    say(work, "broken-container", "vial 2")
    lot = Lot.objects.filter(product__gtin=work.worksheet.container("vial 2").product, state="available")
    today = work.preparation.opened_at.date()
    lot.update(expires_on=today)
    while work.step.kind != "apply_label":
        read(work) if work.step.kind == "show" else work.do()
    with pytest.raises(LabelOutdated):
        work.do()
    say(work, "spoiled-label")
    assert Label.objects.filter(preparation=work.preparation).count() == 2
    finish(work)


def test_a_further_container_is_asked_for_at_the_gate(additives: Hands) -> None:
    work = to_draw(additives, POTASSIUM)
    say(work, "broken-container", "vial 2")
    finish_but_release(work)
    others = Lot.objects.exclude(product__gtin=work.worksheet.container("vial 2").product)
    with past_the_guard():
        work.preparation.materials.filter(container="vial 3").update(lot=others.first())
    with pytest.raises(NotReleasable) as refused:
        work.do()
    assert any("which nothing here asks for" in reason.sentence for reason in refused.value.reasons)


def finish_but_release(work: Hands) -> None:
    while work.step.kind != "release":
        read(work) if work.step.kind == "show" else work.do()
