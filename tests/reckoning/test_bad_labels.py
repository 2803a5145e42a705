"""Sixty bad labels: a good one spoilt by each published error-prone form, every fault found, none invented.

Source of each form, and of what it should be: shared/published/error_prone_forms.json, each row marked page
or memory. The good label is our own, of a worksheet reckoned here.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from compounding.reckoning.labelling import LabelFacts, LabelText, label_lines
from compounding.reckoning.linting import lint
from compounding.reckoning.reckon import reckon
from tests.reckoning.prepared_orders import bag, vancomycin

FORMS: list[dict[str, Any]] = json.loads(
    (Path(__file__).parents[2] / "shared" / "published" / "error_prone_forms.json").read_text()
)["rows"]
#: Where a careless hand writes it: the drug's own line, how it is given, and the caution at the end.
PLACES = ("drug 1", "rate", "caution 1")


@pytest.fixture(scope="module")
def good() -> LabelText:
    """Return the label of a bag, as it is printed."""
    vehicle = replace(bag(250, 25), name="sodium chloride 0.9 %")
    worksheet = reckon(vancomycin(vehicle=vehicle))
    facts = LabelFacts(
        patient="Iris Calloway",
        identifiers=(("No.", "CD-204117"), ("Born", "4 Mar 1961")),
        route="intravenous infusion",
        rate="over 30 minutes",
        code="P K7QF 2M9D",
        serial=1,
        of=1,
    )
    return label_lines(worksheet, facts)


def spoilt(good: LabelText, place: str, written: str) -> str:
    """Return the whole label as text, with the form written at the end of one line."""
    lines = (
        replace(line, text=f"{line.text}, {written}") if line.place == place else line for line in good.lines
    )
    return "\n".join(line.text for line in lines)


def test_there_are_sixty_forms_and_the_good_label_has_none(good: LabelText) -> None:
    assert len(FORMS) >= 60
    assert good.faults() == ()
    assert {line.place for line in good.lines} >= set(PLACES)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: f"{form['written']}-{form['mark']}")
def test_a_label_spoilt_by_a_published_form_is_found_out(good: LabelText, form: dict[str, Any]) -> None:
    for place in PLACES:
        faults = lint(spoilt(good, place, form["written"]))
        assert [fault.better for fault in faults] == [form["better"]], place
        number = [line.place for line in good.lines].index(place) + 1
        assert faults[0].place.startswith(f"line {number}, ")
