"""Label lines in ISMP's order and writing.

Sources: total amount per total volume first, per mL in brackets (USP <7> and ISMP, memory); bold patient,
drug and dose (ISMP, page); base solution, date and time of preparing, beyond-use date and time (COMAR
10.34.19.06 B, page).
"""

from dataclasses import replace
from datetime import timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.reckoning.labelling import LabelFacts, label_lines, strength_written
from compounding.reckoning.quantities import of
from compounding.reckoning.refusals import MissingFact, OutOfRange
from compounding.reckoning.tall_man import TALL_MAN
from compounding.reckoning.worksheet import (
    ContainerKind,
    FinalContainer,
    Line,
    Worksheet,
    WorksheetIngredient,
)

FACTS = LabelFacts(
    patient="Okafor, Ms Sub Q",
    identifiers=(("Record number", "00420117"), ("Born", "1971-03-02")),
    route="intravenous",
    rate="150 mL/h for 30 minutes",
    code="P7K2 9M3Q",
    serial=1,
    of=12,
    zone=timezone(timedelta(hours=-5)),
)


def ingredient(**changes: Any) -> WorksheetIngredient:
    usual = WorksheetIngredient(
        substance="cefazolin",
        written="cefazolin",
        dose=of(1250, "mg"),
        strength=of(330, "mg/mL"),
        volume=of("3.787879", "mL"),
        product="cefazolin 1 g",
        container=ContainerKind.POWDER_VIAL,
        hazardous=False,
        high_alert=False,
        protect_from_light=False,
        how_to_dissolve="shake",
        dissolve_seconds=30,
        concentration=of(25, "mg/mL"),
        true_concentration=of("23.148148", "mg/mL"),
    )
    return replace(usual, **changes)


def worksheet(*ingredients: WorksheetIngredient, **changes: Any) -> Worksheet:
    usual = Worksheet(
        formulation="F",
        formulation_version=1,
        title="cefazolin in a bag",
        final_container=FinalContainer.BAG,
        units=1,
        method="add only",
        diluent="sodium chloride 0.9 %",
        diluent_volume=of(50, "mL"),
        final_volume=of(50, "mL"),
        true_volume=of(54, "mL"),
        ingredients=ingredients or (ingredient(),),
        containers=(),
        transfers=(),
        supplies=(),
        hazardous=False,
        protect_from_light=False,
        storage="fridge",
        mixing="",
        started_at="2026-11-25T08:00+00:00",
        beyond_use_at="2026-12-05T08:00+00:00",
        limits=(),
        working=(),
        warnings=(),
        proof=(Line("content", "held to be proved here"),),
        policy_version=1,
        program_version="0",
    )
    return replace(usual, **changes)


def test_a_label_has_every_line_in_order() -> None:
    label = label_lines(worksheet(), FACTS)
    assert [(line.place, line.text) for line in label.lines] == [
        ("patient", "Okafor, Ms Sub Q"),
        ("identifier 1", "Record number 00420117"),
        ("identifier 2", "Born 1971-03-02"),
        ("drug 1", "ceFAZolin 1,250 mg per 50 mL (25 mg/mL)"),
        ("base", "in sodium chloride 0.9 %"),
        ("volume", "Total volume 50 mL (about 54 mL with overfill)"),
        ("route", "Route: intravenous"),
        ("rate", "Rate: 150 mL/h for 30 minutes"),
        ("prepared", "Prepared 25 Nov 2026 03:00"),
        ("beyond use", "Beyond use 5 Dec 2026 03:00: begin before then"),
        ("storage", "Store in the refrigerator at 2 to 8 °C"),
        ("caution 1", "Compounded preparation"),
        ("code", "P7K2 9M3Q"),
        ("serial", "1 of 12"),
    ]
    assert [line.place for line in label.lines if line.is_bold] == [
        "patient", "drug 1", "beyond use", "caution 1",
    ]  # fmt: skip


def test_cautions_come_from_the_ingredients() -> None:
    drug = ingredient(substance="vincristine", written="vincristine", hazardous=True, high_alert=True)
    label = label_lines(worksheet(drug, hazardous=True, protect_from_light=True), FACTS)
    assert [line.text for line in label.lines if line.place.startswith("caution")] == [
        "For intravenous use only. Fatal if given by other routes",
        "Hazardous drug: wear gloves, discard as hazardous waste",
        "High-alert: vinCRIStine",
        "Protect from light",
        "Compounded preparation",
    ]


def test_a_syringe_for_stock_names_no_patient_no_base_and_no_overfill() -> None:
    stock = replace(FACTS, patient="", identifiers=(), rate="")
    syringe = worksheet(diluent="", true_volume=of("0.05", "L"), storage="at 15 to 25 °C, upright")
    label = label_lines(syringe, stock)
    assert label.at("patient") == "For stock, not for a named patient"
    assert label.at("volume") == "Total volume 50 mL"
    assert label.at("storage") == "at 15 to 25 °C, upright"
    assert (label.at("base"), label.at("rate"), label.at("identifier 1")) == ("", "", "")


@pytest.mark.parametrize(
    ("change", "refusal", "sentence"),
    [
        ({"route": " "}, MissingFact, "The route is missing"),
        ({"code": ""}, MissingFact, "The preparation's code is missing"),
        ({"identifiers": (("Born", "1971-03-02"),)}, MissingFact, "two identifiers is missing"),
        ({"identifiers": (("A", "7"), ("B", "7"))}, MissingFact, "two identifiers is missing"),
        ({"patient": ""}, MissingFact, "The patient's name is missing"),
        ({"serial": 13}, OutOfRange, "The unit's number cannot be 13. Write 1 to 12."),
        ({"serial": 0}, OutOfRange, "The unit's number cannot be 0. Write 1 to 12."),
    ],
)
def test_a_label_without_its_facts_is_refused(
    change: dict[str, Any], refusal: type[MissingFact | OutOfRange], sentence: str
) -> None:
    with pytest.raises(refusal, match=sentence):
        label_lines(worksheet(), replace(FACTS, **change))


@pytest.mark.parametrize(
    ("number", "written"),
    [
        ("16.666667", "16.67 mg/mL"),
        ("0.016666667", "0.01667 mg/mL"),
        ("5", "5 mg/mL"),
        ("1234.56", "1,235 mg/mL"),
        ("0.125", "0.125 mg/mL"),
        ("8.7525", "8.753 mg/mL"),
    ],
)
def test_strengths_are_written_to_four_figures(number: str, written: str) -> None:
    # Four figures: common practice, no source; half up: worked_examples.md, trap 1.
    assert strength_written(of(number, "mg/mL")) == written


def test_the_faults_of_a_label_name_their_line_and_leave_names_alone() -> None:
    label = label_lines(worksheet(storage="Store 5cc @ room"), replace(FACTS, rate="10U/h"))
    assert [(fault.place, fault.better) for fault in label.faults()] == [
        ("rate, character 7", "10 units"),
        ("storage, character 8", "mL"),
        ("storage, character 11", "at"),
    ]


doses = st.decimals(min_value="0.001", max_value=50000, places=3).map(lambda number: of(number, "mg"))


@given(st.sampled_from(sorted(TALL_MAN)), doses, st.integers(1, 3000), st.booleans())
def test_no_label_has_an_error_prone_form(name: str, dose: Any, volume: int, is_risky: bool) -> None:
    drug = ingredient(
        substance=name,
        written=name.upper(),
        dose=dose,
        concentration=of(Decimal(dose.magnitude) / volume, "mg/mL"),
        high_alert=is_risky,
    )
    sheet = worksheet(drug, final_volume=of(volume, "mL"), hazardous=is_risky, protect_from_light=is_risky)
    label = label_lines(sheet, FACTS)
    assert label.faults() == ()
    assert label.at("drug 1").startswith(f"{TALL_MAN[name]} ")
