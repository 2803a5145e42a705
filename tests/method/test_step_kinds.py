"""The table of kinds: each has a stage, an actor, what finishing takes, a screen and a name."""

from __future__ import annotations

from pathlib import Path

import pytest

from checklists.method.step_kinds import KINDS, Actor, Stage, Takes
from checklists.run.steps import AFTERWARDS, TAKING
from checklists.worklists.step_details import DETAILS
from checklists.worklists.words import STAGES, STEP_NAMES, WAITS

TEMPLATES = Path(__file__).resolve().parents[2] / "templates" / "steps"


def test_every_kind_has_its_screen_and_every_screen_its_kind() -> None:
    assert {path.stem for path in TEMPLATES.glob("*.html")} == set(KINDS)


def test_every_kind_has_its_name_in_words() -> None:
    assert set(STEP_NAMES) == set(KINDS)
    assert set(STAGES) == set(Stage)


def test_tables_by_kind_name_only_kinds() -> None:
    assert set(DETAILS) <= set(KINDS)
    assert set(AFTERWARDS) <= set(KINDS)


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS.keys())
def test_what_finishing_takes_is_the_makers_or_the_checkers_own(kind) -> None:
    assert KINDS[kind.name] is kind
    if kind.actor is Actor.CHECKER:
        assert kind.takes in WAITS
        assert kind.takes not in TAKING, "no technician finishes a check"
    else:
        assert kind.takes in TAKING
        assert kind.takes not in WAITS


def test_the_checkers_kinds_are_the_four_that_need_a_pharmacist() -> None:
    checks = {kind.name: kind.takes for kind in KINDS.values() if kind.actor is Actor.CHECKER}
    assert checks == {
        "first_check": Takes.RECALCULATION,
        "show": Takes.SIGHTING,
        "final_check": Takes.INSPECTION,
        "release": Takes.SIGNATURE,
    }


def test_hands_are_in_the_hood_from_making_ready_to_the_last_addition() -> None:
    inside = {Stage.READY, Stage.DRAW, Stage.SHOW, Stage.ADD}
    assert {kind.name for kind in KINDS.values() if kind.is_in_hood} == {
        kind.name for kind in KINDS.values() if kind.stage in inside
    }


def test_the_stages_stand_in_the_order_of_the_work() -> None:
    """Order: shared design 1."""
    assert [stage.value for stage in Stage] == [
        "reckon", "gather", "check", "stage", "enter", "ready", "draw", "show", "add", "label", "dispose",
        "hand-over", "release",
    ]  # fmt: skip
