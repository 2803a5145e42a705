"""A difference stops the work and is never accepted: drawn again, read again blind by another, or discarded.

Source: the idea no one may weaken, shared design 1; blind reading against repeating what one has seen:
published failure named there (page).
"""

from __future__ import annotations

import pytest

from cast import PIN, Cast, Hands, key
from checklists import run
from checklists.independence import has_seen
from checklists.models import Preparation
from checklists.refusals import (
    Disclosed,
    NoReason,
    NoSuchHold,
    NotAResolution,
    NotIndependent,
    NotReleasable,
    OnHold,
    WrongPin,
    WrongRole,
)
from checklists.run.holds import RESOLUTIONS
from tests.checklists.walks import everything


@pytest.fixture
def differing(everybody: Cast, shown: Hands) -> Hands:
    """The last draw was read 18.5 mL where 17.5 mL is required and drawn: one mark too many."""
    shown.see(shown.step, 2, "18.5")
    return shown


def cause(work: Hands) -> str:
    return work.preparation.holds.get(resolved_at=None).cause


def waits(work: Hands) -> tuple[str, object]:
    return work.step.kind, work.step.about


def resolve(work: Hands, resolution: str, who: str = "second pharmacist", **given: str) -> None:
    hold = work.preparation.holds.filter(resolved_at=None).first()
    told = {"reason": "looked at together", "pin": PIN, **given}
    number = hold.pk if hold else 0
    run.resolve(code=work.code, person=work.cast[who], key=key(), hold=number, resolution=resolution, **told)


def test_a_wrong_draw_opens_a_hold_and_stops_the_technician(differing: Hands) -> None:
    assert cause(differing) == "amounts-differ"
    assert differing.preparation.holds.get().draws == [2]
    before = everything()
    with pytest.raises(OnHold) as refused:
        differing.do()
    assert refused.value.sentence == (
        "The work is on hold: the amounts of a draw differ. "
        "A pharmacist resolves it before anything else is done."
    )
    assert everything() == before


@pytest.mark.usefixtures("unguarded")
def test_a_wrongly_drawn_amount_opens_a_hold_though_the_checker_reads_right(
    everybody: Cast, shown: Hands
) -> None:
    shown.preparation.readings.filter(draw=2).update(volume_ml="19", is_at_mark=False)
    shown.see(shown.step, 2, "17.5")
    assert cause(shown) == "amounts-differ"


def test_drawn_again_and_read_again_agrees_and_is_released(differing: Hands) -> None:
    resolve(differing, "draw-again")
    assert waits(differing) == ("swab_sites", {"seconds": 30, "sites": ["vial 1"]})
    differing.to("draw").do()
    assert waits(differing) == ("show", {"draws": [2]})
    with pytest.raises(Disclosed, match="Ilse Varga has read this draw already"):
        differing.see(differing.step, 2, "17.5")
    differing.see(differing.step, 2, "17.5", differing.cast["third pharmacist"])
    differing.to_release()
    assert differing.preparation.state == "released"
    assert list(differing.preparation.readings.filter(draw=2).values_list("attempt", flat=True)) == [1, 2]


def test_drawn_again_wrongly_is_held_again(differing: Hands) -> None:
    resolve(differing, "draw-again")
    differing.to("draw").finish(differing.step, volume="16.5")
    differing.see(differing.step, 2, "16.5", differing.cast["third pharmacist"])
    assert cause(differing) == "amounts-differ"


def test_read_again_by_another_who_has_not_seen_the_amounts_agrees(differing: Hands) -> None:
    resolve(differing, "read-again")
    assert waits(differing) == ("show", {"draws": [2]})
    differing.see(differing.step, 2, "17.5", differing.cast["third pharmacist"])
    assert differing.step.kind == "swab_port"
    assert not differing.preparation.holds.filter(resolved_at=None).exists()
    differing.to_release()
    assert differing.preparation.state == "released"


def test_the_first_checker_cannot_read_again(differing: Hands) -> None:
    resolve(differing, "read-again")
    before = everything()
    with pytest.raises(Disclosed):
        differing.see(differing.step, 2, "17.5", differing.cast["pharmacist"])
    assert everything() == before


def test_whoever_opened_the_amounts_of_the_hold_cannot_read_again(differing: Hands) -> None:
    opener = differing.cast["third pharmacist"]
    hold = differing.preparation.holds.get()
    assert not has_seen(differing.preparation, 2, opener)
    run.see_hold(code=differing.code, person=opener, key=key(), hold=hold.pk)
    assert has_seen(differing.preparation, 2, opener)
    resolve(differing, "read-again")
    with pytest.raises(Disclosed, match="Beatriz Quiroga has seen the amounts"):
        differing.see(differing.step, 2, "17.5", opener)
    differing.see(differing.step, 2, "17.5", differing.cast["second pharmacist"])


def test_a_second_reading_that_differs_too_is_held_again(differing: Hands) -> None:
    resolve(differing, "read-again")
    differing.see(differing.step, 2, "18.5", differing.cast["third pharmacist"])
    assert cause(differing) == "amounts-differ"
    with pytest.raises(NotReleasable):
        differing.release()


def test_discarded_work_ends_there_and_the_order_goes_back_to_the_list(differing: Hands) -> None:
    resolve(differing, "discard")
    preparation = differing.preparation
    assert preparation.state == "discarded"
    assert preparation.ended_at is not None
    assert preparation.hood == differing.cast.hood, "it keeps the hood until everything is taken out"
    again = Hands(differing.cast, differing.order, differing.technician, differing.checker).open()
    assert again.code != differing.code


@pytest.mark.parametrize(
    "way", ["carry-on", "check-again", "", "accept", "Draw again", "draw-again ", "DISCARD", "0", "\0", "😀"]
)
def test_a_difference_can_never_be_accepted(differing: Hands, way: str) -> None:
    before = everything()
    with pytest.raises(NotAResolution) as refused:
        resolve(differing, way)
    assert refused.value.sentence == (
        "“the amounts of a draw differ” is not resolved that way. Choose one of the ways shown."
    )
    assert everything() == before


def test_no_cause_with_amounts_can_be_carried_on_from() -> None:
    assert {cause.value for cause, ways in RESOLUTIONS.items() if "carry-on" in ways} == {
        "something-wrong",
        "order-changed",
        "kept-refused",
    }


@pytest.mark.parametrize("who", ["technician", "second technician", "supervisor"])
def test_only_a_pharmacist_resolves(differing: Hands, who: str) -> None:
    before = everything()
    with pytest.raises(WrongRole, match="This is done by a pharmacist; you are signed in as"):
        resolve(differing, "discard", who)
    assert everything() == before


def test_a_pharmacist_who_made_a_part_does_not_resolve(differing: Hands) -> None:
    Preparation.objects.filter(code=differing.code).update(technician=differing.cast["second pharmacist"])
    before = everything()
    with pytest.raises(NotIndependent, match="Rohan Mehta-Lind made a part of this preparation"):
        resolve(differing, "discard")
    assert everything() == before


@pytest.mark.parametrize("pin", ["", "1357", "2468 ", "\uff12\uff14\uff16\uff18", "2468" * 2500, "\0", "😀"])
def test_a_wrong_pin_resolves_nothing(differing: Hands, pin: str) -> None:
    before = everything()
    with pytest.raises(WrongPin):
        resolve(differing, "draw-again", pin=pin)
    assert everything() == before


@pytest.mark.parametrize("reason", ["", "   ", "\n"])
def test_a_hold_is_not_resolved_without_a_reason(differing: Hands, reason: str) -> None:
    before = everything()
    with pytest.raises(NoReason, match="Write the reason in a few words"):
        resolve(differing, "draw-again", reason=reason)
    assert everything() == before


def test_a_hold_is_resolved_once(differing: Hands) -> None:
    hold = differing.preparation.holds.get().pk
    resolve(differing, "draw-again")
    before = everything()
    with pytest.raises(NoSuchHold, match="This hold is resolved already"):
        run.resolve(
            code=differing.code,
            person=differing.cast["second pharmacist"],
            key=key(),
            hold=hold,
            resolution="discard",
            reason="again",
            pin=PIN,
        )
    assert everything() == before


def test_something_wrong_is_carried_on_from_where_it_stopped(everybody: Cast, shown: Hands) -> None:
    run.raise_hold(code=shown.code, person=shown.technician, key=key(), note="a drop on the stopper")
    hold = shown.preparation.holds.get()
    assert (hold.cause, hold.note) == ("something-wrong", "a drop on the stopper")
    with pytest.raises(OnHold):
        shown.see(shown.step, 2, "17.5")
    resolve(shown, "carry-on")
    shown.to_release()
    assert shown.preparation.state == "released"


def test_work_on_hold_cannot_be_given_up_past_the_pharmacist(differing: Hands) -> None:
    before = everything()
    with pytest.raises(OnHold):
        run.abandon(code=differing.code, person=differing.technician, key=key(), reason="enough of it")
    assert everything() == before


def test_no_ended_preparation_has_an_open_hold(differing: Hands) -> None:
    run.raise_hold(code=differing.code, person=differing.technician, key=key(), note="and it leaks")
    resolve(differing, "discard")
    assert not differing.preparation.holds.filter(resolved_at=None).exists()


def test_a_note_too_long_for_the_record_is_refused_not_cut(everybody: Cast, shown: Hands) -> None:
    before = everything()
    for note in ("x" * 501, "x" * 10_000):
        with pytest.raises(Exception, match="The reason is too long"):
            run.raise_hold(code=shown.code, person=shown.technician, key=key(), note=note)
    with pytest.raises(Exception, match="cannot be printed"):
        run.raise_hold(code=shown.code, person=shown.technician, key=key(), note="a\0b")
    assert everything() == before
