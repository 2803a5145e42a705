"""Something is wrong with one syringe of a batch while the others are drawn: that one alone is drawn again.

Consequences: common practice, no source (as `checklists.method.mishaps` says).
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from cast import Cast, Hands, stock_batch
from checklists.audit import first_fault
from checklists.counting import items_left
from checklists.remains import Remains
from tests.checklists.test_mishaps import say
from tests.checklists.walks import beside


@pytest.fixture(scope="module")
def drawing(house: Cast) -> Hands:
    """A batch of twelve with four syringes of 2 mL drawn; the fifth is the one to draw. Ten take a whole vial
    of 20 mL, so that one drawn again takes a further one.
    """
    work = beside(house, stock_batch()).to("draw_units")
    for _unit in range(4):
        work.do_unit()
    return work


def left(work: Hands) -> list[int]:
    return [item.number for item in items_left(work.step, work.worksheet)]


def waste(work: Hands) -> list[tuple[int | None, Decimal]]:
    return [(one.draw, one.volume_ml) for one in work.preparation.waste.all()]


def test_one_that_lay_drawn_is_drawn_again_before_the_others_go_on(everybody: Cast, drawing: Hands) -> None:
    assert Remains(drawing.preparation).in_hand == [1, 2, 3, 4, 5]
    say(drawing, "dropped-syringe", "2")
    assert waste(drawing) == [(2, Decimal(2))]
    kinds = [one.kind for one in drawing.preparation.steps.filter(finished_at=None)]
    assert kinds[:5] == ["gather_container", "wipe_items", "peel_wraps", "disinfect_gloves", "swab_sites"]
    assert kinds[5:7] == ["draw_units", "draw_units"]
    drawing.to("draw_units")
    assert left(drawing) == [2]
    drawing.do_unit()
    assert left(drawing) == [5, 6, 7, 8, 9, 10, 11, 12]
    drawing.to_release()
    assert drawing.preparation.state == "released"
    attempts = {one.draw: one.attempt for one in drawing.preparation.readings.order_by("attempt")}
    assert attempts == {**dict.fromkeys(range(1, 13), 1), 2: 2}
    assert first_fault(drawing.preparation) is None


def test_the_one_that_is_being_drawn_is_simply_drawn_anew(everybody: Cast, drawing: Hands) -> None:
    say(drawing, "touched-needle", "5")
    assert waste(drawing) == [(5, Decimal(2))]
    drawing.to("draw_units")
    assert left(drawing) == [5, 6, 7, 8, 9, 10, 11, 12]
    drawing.to("show")
    reading = drawing.preparation.readings.get(draw=5)
    assert reading.attempt == 2, "the one that was lost counts as an attempt"


def test_of_a_rejected_unit_nothing_can_be_wrong_any_more(everybody: Cast, drawing: Hands) -> None:
    drawing.reject(3)
    assert Remains(drawing.preparation).in_hand == [1, 2, 4, 5]
