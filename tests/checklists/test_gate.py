"""Release is refused for every reason there is, in words, by the act itself.

Reasons: the issue's own list; independence and identity at release: USP <797> (2023), memory.
`tests/views/test_direct_posts.py` proves the same by the address.
"""

from __future__ import annotations

import pytest
import time_machine

from cast import Cast, Hands, key
from checklists import run
from checklists.gate import BLOCKERS
from checklists.models import Preparation
from checklists.refusals import NotReleasable
from tests.checklists.obstacles import OBSTACLES, Obstacle
from tests.checklists.walks import everything

#: Every kind that a powder-vial preparation goes through before its release.
KINDS_WALKED = (
    "read_worksheet", "gather_container", "gather_supplies", "print_label", "first_check", "wipe_items",
    "put_on_covers", "wash_hands", "rub_hands", "put_on_gloves", "identify_hood", "wipe_surface", "arrange",
    "swab_sites", "peel_wraps", "disinfect_gloves", "draw",
    "show", "add_diluent_to_vial", "dissolve", "swab_port", "add", "mix", "apply_label", "dispose",
    "hand_over", "clean_up", "final_check",
)  # fmt: skip


def reasons(work: Hands, who: str = "pharmacist") -> dict[str, list[str]]:
    """Return why this person may not release it: sentences by the blocker's code."""
    found: dict[str, list[str]] = {}
    before = everything()
    with pytest.raises(NotReleasable) as refused:
        work.release(work.cast[who])
    assert everything() == before
    assert "cannot be released" in refused.value.sentence
    for blocker in refused.value.reasons:
        found.setdefault(blocker.code, []).append(blocker.sentence)
    return found


def test_nothing_stands_in_the_way_of_an_honest_walk(everybody: Cast, walked: Hands) -> None:
    walked.release()
    assert walked.preparation.state == "released"
    assert walked.preparation.ended_at is not None


def test_the_walk_went_through_every_kind_that_is_tried_here(everybody: Cast, walked: Hands) -> None:
    assert set(walked.preparation.steps.values_list("kind", flat=True)) == {*KINDS_WALKED, "release"}


@pytest.mark.parametrize("kind", KINDS_WALKED)
def test_a_step_that_is_not_finished_is_named(everybody: Cast, walked: Hands, kind: str) -> None:
    step = walked.preparation.steps.filter(kind=kind).last()
    step.finished_at = step.finished_by = None
    step.save()
    sentence = f"The step “{kind.replace('_', ' ')}” is not finished."
    assert reasons(walked) == {"step-missing": [sentence]}


@pytest.mark.parametrize("obstacle", OBSTACLES, ids=lambda one: one.what)
@pytest.mark.usefixtures("unguarded")
def test_what_stands_in_the_way_is_said_in_words(everybody: Cast, walked: Hands, obstacle: Obstacle) -> None:
    obstacle.put(walked)
    with time_machine.travel(obstacle.when(), tick=True):
        found = reasons(walked)
    assert list(found) == [obstacle.code], "only what was put in the way stands in the way"
    assert any(said.startswith(obstacle.sentence) for said in found[obstacle.code])


def test_every_blocker_has_an_obstacle_that_it_alone_sees() -> None:
    apart = {"second-reading-missing", "waste-unaccounted"}  # test_second_reading, test_controlled
    apart |= {"step-missing", "not-independent", "batch-not-reconciled", "dissolved-elsewhere"}
    tried = {one.code for one in OBSTACLES} | apart
    assert tried == {blocker.__name__.replace("_", "-") for blocker in BLOCKERS}


def test_a_technician_cannot_release(everybody: Cast, walked: Hands) -> None:
    found = reasons(walked, "second technician")
    assert found == {"not-independent": ["Only a pharmacist releases."]}


def test_a_supervisor_cannot_release(everybody: Cast, walked: Hands) -> None:
    found = reasons(walked, "supervisor")
    assert found == {"not-independent": ["Only a pharmacist releases."]}


def test_the_same_person_as_maker_and_checker_cannot_release(everybody: Cast, walked: Hands) -> None:
    Preparation.objects.filter(code=walked.code).update(technician=everybody["pharmacist"])
    found = reasons(walked)
    assert found == {
        "not-independent": [
            "Ilse Varga made a part of it and cannot release it.",
            "Ilse Varga both made and checked a part of it.",
        ]
    }


@pytest.mark.parametrize("what", ["first check", "reading", "final check"])
@pytest.mark.usefixtures("unguarded")
def test_another_cannot_release_what_a_maker_checked(everybody: Cast, walked: Hands, what: str) -> None:
    maker, preparation = everybody["technician"], walked.preparation
    if what == "first check":
        preparation.recalculations.filter(transfer=1).update(person=maker)
    elif what == "reading":
        preparation.readings.get(draw=2).sightings.update(person=maker)
    else:
        preparation.steps.filter(kind="final_check").update(finished_by=maker)
    found = reasons(walked, "second pharmacist")
    assert found == {"not-independent": ["Mara Okonjo both made and checked a part of it."]}


@pytest.mark.usefixtures("unguarded")
def test_every_reason_is_told_at_once(everybody: Cast, walked: Hands) -> None:
    for what in ("an open hold", "an expired lot", "a first check that differs"):
        next(one for one in OBSTACLES if one.what == what).put(walked)
    assert list(reasons(walked)) == ["hold-open", "first-check-missing", "material-unfit"]


def test_a_release_is_not_overruled_by_trying_again(everybody: Cast, walked: Hands) -> None:
    OBSTACLES[0].put(walked)
    for _again in range(3):
        reasons(walked)
    assert walked.preparation.state != "released"


def test_a_wrong_pin_releases_nothing(everybody: Cast, walked: Hands) -> None:
    from checklists.refusals import WrongPin

    before = everything()
    with pytest.raises(WrongPin, match="The PIN is not right"):
        walked.release(pin="1357")
    assert everything() == before


def test_a_release_sent_twice_is_one_release(everybody: Cast, walked: Hands) -> None:
    once = key()
    for _sent in range(2):
        run.release(code=walked.code, person=everybody["pharmacist"], key=once, pin="2468")
    assert walked.preparation.entries.filter(act="release").count() == 1


def test_the_releaser_may_be_another_pharmacist_than_the_checker(everybody: Cast, walked: Hands) -> None:
    walked.release(everybody["third pharmacist"])
    assert walked.preparation.state == "released"
