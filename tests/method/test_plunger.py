"""The drawn plunger: marks as they are read, and the draws that policy has set by it (a site's own rule)."""

from __future__ import annotations

import pytest

from cast import Cast, Hands, key, order
from checklists import run
from checklists.method.plunger import is_asked, step_of
from checklists.refusals import ByPlunger
from compounding.formulary.policy import change_policy
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import of
from compounding.reckoning.worksheet import Syringe
from tests.checklists.walks import beside, everything


@pytest.mark.parametrize(
    ("size", "mark", "moves"),
    [("1", "0.01", "0.01"), ("3", "0.1", "0.1"), ("5", "0.2", "0.2"), ("20", "1", "0.5"), ("60", "1", "0.5")],
)
def test_one_press_moves_a_mark_or_half_of_one_where_half_marks_count(
    size: str, mark: str, moves: str
) -> None:
    """Marks of usual syringes: common practice, no source; half marks from 1 mL: the program's default."""
    assert step_of(Syringe(of(size, "mL"), of(mark, "mL")), Policy()) == of(moves, "mL")


@pytest.fixture(scope="module")
def high_alert(house: Cast) -> Hands:
    """Potassium chloride, a high-alert medicine, into a bag."""
    return beside(house, order("potassium-nacl-1000", "40 mEq")).to("draw")


@pytest.fixture(scope="module")
def usual(house: Cast) -> Hands:
    return beside(house, order("ondansetron-nacl-50", "8 mg")).to("draw")


def test_policy_says_for_which_draws_it_is_asked(everybody: Cast, high_alert: Hands, usual: Hands) -> None:
    asked = {
        word: [is_asked(work.worksheet, 1, Policy(always_by_plunger=word)) for work in (usual, high_alert)]
        for word in ("never", "high-alert", "always")
    }
    assert asked == {"never": [False, False], "high-alert": [False, True], "always": [True, True]}


def test_one_press_at_the_mark_is_refused_where_policy_asks_for_the_plunger(
    everybody: Cast, high_alert: Hands
) -> None:
    change_policy(reason="after a near miss", by="test", always_by_plunger="high-alert")
    before, step = everything(), high_alert.step
    with pytest.raises(ByPlunger, match="Move the drawn plunger to where yours stands"):
        run.finish_step(
            code=high_alert.code,
            person=high_alert.technician,
            key=key(),
            place=step.place,
            given={"stands": "1"},
        )
    assert everything() == before
    high_alert.finish(step, volume="20")
    assert high_alert.preparation.readings.get().is_at_mark is False
