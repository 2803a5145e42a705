"""Steps that a formulation adds: put where they were asked for, frozen with the preparation."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from cast import Cast, order
from checklists.method.site_steps import NEVER_AFTER, NEVER_BEFORE
from checklists.method.step_kinds import Stage
from checklists.refusals import TooEarly
from compounding.formulary.models import Formulation, FormulationStep
from tests.checklists.walks import beside, sign_in, words

OWN = {"text": "Call the ward", "why": "they asked for it", "position": 9}


def of(formulation: str) -> Formulation:
    return Formulation.objects.get(code=formulation)


def test_the_formularys_stages_are_those_of_the_procedure() -> None:
    assert {stage.value for stage in FormulationStep.Stage} == {stage.value for stage in Stage} - {"release"}
    nowhere = {(stage.value, True) for stage in NEVER_BEFORE} | {
        (stage.value, False) for stage in NEVER_AFTER
    }
    assert {(str(stage), before) for stage, before in FormulationStep.NOWHERE} == {
        (stage, before) for stage, before in nowhere if stage != "release"
    }


def test_it_stands_where_it_was_asked_for_and_lasts_as_long(everybody: Cast) -> None:
    """The demo lets a cold vial stand for 60 s before it is wiped."""
    work = beside(everybody, order("famotidine-nacl-100", "20 mg")).to("site_step")
    kinds = list(work.preparation.steps.values_list("kind", flat=True))
    assert kinds[kinds.index("site_step") - 1 :][:3] == ["first_check", "site_step", "wipe_items"]
    with pytest.raises(TooEarly):
        work.finish(work.step)
    page = words(sign_in(work.technician).get(f"/make/{work.code}/"))
    assert "Let the cold vial stand until its mist is gone" in page
    assert "A cold vial beads with water" in page
    assert "It is done as said" in page


def test_what_is_changed_later_changes_nothing_that_is_opened(everybody: Cast) -> None:
    work = beside(everybody, order("famotidine-nacl-100", "20 mg"))
    FormulationStep.objects.update(text="Something else", seconds=0)
    FormulationStep.objects.create(formulation=of("famotidine-nacl-100"), stage="add", is_before=False, **OWN)
    (step,) = work.preparation.steps.filter(kind="site_step")
    assert (step.about["text"], step.about["seconds"]) == (
        "Let the cold vial stand until its mist is gone",
        60,
    )
    assert "Let the cold vial stand" in work.preparation.entries.get(act="open").text


def test_one_inside_the_hood_is_finished_by_a_press_and_shows_its_stage(everybody: Cast) -> None:
    FormulationStep.objects.create(formulation=of("ondansetron-nacl-50"), stage="add", is_before=False, **OWN)
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to("site_step")
    page = sign_in(work.technician).get(f"/make/{work.code}/")
    assert "data-in-hood" in page.content.decode()
    assert "Add · step" in words(page)
    work.finish(work.step)
    assert work.step.kind == "apply_label"
    assert work.to_release().preparation.state == "released"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"text": "one " * 15}, "at most 14 words"),
        ({"stage": "reckon", "is_before": True}, "Nobody is at work there"),
        ({"stage": "hand-over", "is_before": False}, "Nobody is at work there"),
        ({"stage": "release"}, "not a valid choice"),
        ({"seconds": 7201}, "less than or equal to 7200"),
        ({"text": ""}, "cannot be blank"),
    ],
)
def test_one_that_cannot_be_read_or_placed_is_refused(
    everybody: Cast, change: dict[str, object], sentence: str
) -> None:
    asked = {**OWN, "stage": "add", "is_before": False, **change}
    with pytest.raises(ValidationError, match=sentence):
        FormulationStep(formulation=of("ondansetron-nacl-50"), **asked).full_clean()
