"""The linter for error-prone writing, driven by the published forms.

Source: shared/published/error_prone_forms.json and tall_man.json, each row marked page or memory.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.reckoning import quantities
from compounding.reckoning.linting import Fault, lint
from compounding.reckoning.tall_man import READ, REMEMBERED, TALL_MAN, in_tall_man

PUBLISHED = Path(__file__).parents[2] / "shared" / "published"


def rows(name: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((PUBLISHED / name).read_text())["rows"]
    return found


@pytest.mark.parametrize(
    "row", rows("error_prone_forms.json"), ids=lambda row: f"{row['written']}-{row['mark']}"
)
def test_every_published_form_is_found_with_its_better_form(row: dict[str, Any]) -> None:
    assert [fault.better for fault in lint(row["written"])] == [row["better"]]
    embedded = lint(f"Give this: {row['written']}")
    assert [fault.better for fault in embedded] == [row["better"]]
    assert embedded[0].place.startswith("line 1, character ")


@pytest.mark.parametrize(
    "text",
    [
        "ceFAZolin 1,250 mg per 50 mL (25 mg/mL)",
        "EPINEPHrine 4 mcg/mL at 5 mcg/kg/min",
        "heparin 25,000 units per 250 mL (100 units/mL)",
        "in sodium chloride 0.9 %",
        "Beyond use 29 Nov 2026 08:00: begin before then",
        "2026-11-29 10:30, 100.05 mL, 0.025 mg, 10.10.2026",
        "Store at 2 to 8 °C or -25 to -10 °C",
        "potassium chloride 20 mEq, magnesium sulfate 2 g, vitamin K",
        "IV bag into port; IV dose; factor of 2",
        "Draw 10 mL. Then wait; half of the vial; use in 1 of 12",
        "Record number 00420117 needs no comma",
        "1:30 pm",
        "",
    ],
)
def test_good_writing_passes(text: str) -> None:
    assert lint(text) == ()


def test_faults_are_placed_by_line_and_character() -> None:
    assert lint("Give heparin\n500U at once @ 10mg") == (
        Fault("line 2, character 1", "“500U”: misread as 0, 4 or cc", "500 units"),
        Fault("line 2, character 14", "“@”: misread as 2", "at"),
        Fault("line 2, character 16", "“10mg”: number and unit run together", "10 mg"),
    )


def test_a_listed_name_without_tall_man_letters_is_a_fault() -> None:
    assert lint("Cefazolin 500 mg") == (
        Fault("line 1, character 1", "“Cefazolin”: without its tall-man letters", "ceFAZolin"),
    )


def test_the_tall_man_names_are_the_published_ones() -> None:
    published = {row["name"]: row["mark"] for row in rows("tall_man.json")}
    assert published == {**dict.fromkeys(READ, "page"), **dict.fromkeys(REMEMBERED, "memory")}


@pytest.mark.parametrize("name", sorted(TALL_MAN))
def test_tall_man_letters_are_put_and_kept(name: str) -> None:
    assert in_tall_man(f"{name} in water") == f"{TALL_MAN[name]} in water"
    assert in_tall_man(TALL_MAN[name]) == TALL_MAN[name]
    assert in_tall_man(f"{name}xyz") == f"{name}xyz"


@given(
    st.decimals(min_value="0.000001", max_value="99999999", places=6), st.sampled_from(["mg", "mL", "units"])
)
def test_what_quantities_writes_passes_the_linter(number: Any, unit: str) -> None:
    assert lint(f"Draw {quantities.write(quantities.of(number, unit))} now") == ()


@given(st.text(max_size=60))
def test_any_text_can_be_read(text: str) -> None:
    for fault in lint(text):
        assert fault.better
        assert fault.place.startswith("line ")
