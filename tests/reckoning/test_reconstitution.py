"""Powder to solution. Outside sources: label texts by worked example number (page read unless said)."""

from decimal import Decimal

import pytest
from prepared_orders import CEFAZOLIN, ONDANSETRON, VANCOMYCIN, ingredient, powder

from compounding.reckoning.quantities import Quantity, of, round_half_up
from compounding.reckoning.reconstitution import (
    containers_for,
    displaced_strength,
    displacement,
    label_rounding,
    reconstitution_line,
    whole_vial_warning,
)

D = Decimal


@pytest.mark.parametrize(
    ("content", "diluent", "displaced", "strength"),
    [
        (of(250, "mg"), "5", "0.2", of("48.08", "mg/mL")),  # WX066: 48 mg/mL
        (of(250, "mg"), "4.8", "0.2", of(50, "mg/mL")),  # WX067
        (of(1, "g"), "9.6", "0.4", of(100, "mg/mL")),  # WX090, memory
        (of(10, "g"), "95", "5", of(100, "mg/mL")),  # WX082
        (of(5_000_000, "units"), "3", "2", of(1_000_000, "units/mL")),  # WX086
        (of(5_000_000, "units"), "8", "2", of(500_000, "units/mL")),  # WX087
    ],
)
def test_content_over_diluent_and_displacement(
    content: Quantity, diluent: str, displaced: str, strength: Quantity
) -> None:
    found = displaced_strength(content, of(diluent, "mL"), of(displaced, "mL")).amount
    assert round_half_up(found.magnitude, D("0.01")) == strength.magnitude
    assert found.units == strength.units


def test_displacement_by_the_label() -> None:
    # penicillin G potassium (WX088, memory): 23 mL give 200,000 units/mL, so 5 million units take up 2 mL
    assert displacement(of(5_000_000, "units"), of(200_000, "units/mL"), of(23, "mL")) == of(2, "mL")


@pytest.mark.parametrize(
    ("volume", "withdrawable", "count"),
    [("6.0606060606", "3", 3), ("22", "20", 2), ("20", "20", 1), ("20.0001", "20", 2), ("4", "2", 2)],
)
def test_containers_always_round_up(volume: str, withdrawable: str, count: int) -> None:
    assert containers_for(of(volume, "mL"), of(withdrawable, "mL")) == count


def test_a_label_strength_is_used_as_printed_and_its_rounding_is_stated() -> None:
    # WX071: 330 mg/mL × 3 mL = 990 mg of 1,000 mg
    assert label_rounding(CEFAZOLIN) == 1
    assert label_rounding(VANCOMYCIN) == 0
    assert label_rounding(ONDANSETRON) == 0
    # less can be drawn than was put in: not the label's whole volume, nothing is concluded
    assert label_rounding(powder("x 1 g", "1", "20", "50", "18")) == 0


def test_a_whole_vial_that_does_not_fit_is_said() -> None:
    one = ingredient(CEFAZOLIN, of(1, "g"))
    said = whole_vial_warning(one, of(1, "g"), 2)
    assert said is not None
    assert said.startswith("1 g of cefazolin is the content of 1 × cefazolin 1 g, ")
    assert said.endswith("but only 3 mL comes out of each: it takes 2.")
    assert whole_vial_warning(one, of(900, "mg"), 1) is None
    assert whole_vial_warning(ingredient(VANCOMYCIN, of(1, "g")), of(1, "g"), 1) is None


def test_the_working_quotes_the_label() -> None:
    line = reconstitution_line(VANCOMYCIN)
    assert line is not None
    assert line.text == "1 g + 20 mL sterile water gives 50 mg/mL (label)"
    assert reconstitution_line(ONDANSETRON) is None
