"""Hands that left the hood: gloves are disinfected before anything in it is touched again.

Rule: gloved hands that left first air are disinfected before they go in again (common practice, no source).
"""

from __future__ import annotations

import pytest

from cast import Cast, Hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.refusals import NotInTheHood, NotYours
from tests.checklists.walks import at_drug_show, beside, everything


@pytest.fixture(scope="module")
def drawing(house: Cast) -> Hands:
    return beside(house, order("ondansetron-nacl-50", "8 mg")).to("draw")


def leave(work: Hands, once: str = "") -> None:
    run.leave_hood(code=work.code, person=work.technician, key=once or key())


def kinds_left(work: Hands) -> list[str]:
    return list(work.preparation.steps.filter(finished_at=None).values_list("kind", flat=True))


@pytest.mark.parametrize("kind", ["swab_sites", "peel_wraps", "draw", "swab_port", "add", "mix"])
def test_gloves_come_before_the_step_that_was_shown(everybody: Cast, kind: str) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to(kind)
    before, place = kinds_left(work), work.step.place
    leave(work)
    assert kinds_left(work) == ["disinfect_gloves", *before]
    assert work.step.started_at is not None
    assert work.preparation.steps.get(place=place).started_at is None
    work.do()
    assert work.step.place == place
    assert work.to_release().preparation.state == "released"
    assert first_fault(work.preparation) is None


def test_the_record_says_at_which_step_they_left(everybody: Cast, drawing: Hands) -> None:
    leave(drawing)
    entry = drawing.preparation.entries.get(act="leave hood")
    assert '"step":"draw"' in entry.text
    assert entry.person == drawing.technician


def test_a_press_sent_twice_puts_one_step_in(everybody: Cast, drawing: Hands) -> None:
    before, once = kinds_left(drawing), key()
    leave(drawing, once)
    leave(drawing, once)
    assert kinds_left(drawing) == ["disinfect_gloves", *before]


def test_hands_that_leave_while_gloves_dry_begin_the_drying_anew(everybody: Cast) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to("disinfect_gloves")
    before, began = kinds_left(work), work.step.started_at
    leave(work)
    assert kinds_left(work) == before
    assert work.step.started_at > began


def test_while_a_checker_reads_gloves_come_after_the_reading(everybody: Cast) -> None:
    work = at_drug_show(beside(everybody, order("ondansetron-nacl-50", "8 mg")))
    before = kinds_left(work)
    leave(work)
    assert kinds_left(work) == before
    work.do()
    assert kinds_left(work) == ["disinfect_gloves", *before[1:]]


def test_hands_that_leave_during_a_hold_are_disinfected_when_it_goes_on(
    everybody: Cast, drawing: Hands
) -> None:
    run.raise_hold(code=drawing.code, person=drawing.technician, key=key(), note="a drop on the deck")
    before = kinds_left(drawing)
    leave(drawing)
    assert kinds_left(drawing) == before
    drawing.resolve("carry-on")
    assert kinds_left(drawing) == ["disinfect_gloves", *before]


@pytest.mark.parametrize("kind", ["read_worksheet", "first_check", "wipe_items", "arrange", "apply_label"])
def test_where_no_hand_is_in_the_hood_none_leaves_it(everybody: Cast, kind: str) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to(kind)
    before = everything()
    with pytest.raises(NotInTheHood, match="your hands are not in the hood"):
        leave(work)
    assert everything() == before


def test_nobody_elses_hands_leave(everybody: Cast, drawing: Hands) -> None:
    with pytest.raises(NotYours):
        run.leave_hood(code=drawing.code, person=everybody["second technician"], key=key())
