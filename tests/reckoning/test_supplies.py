"""What is gathered without a scan. Sources: 5 micron filter one way, luer-lock (standards.md sections 2
and 4).
"""

from prepared_orders import (
    AMINOPHYLLINE,
    FLUOROURACIL,
    MORPHINE,
    POTASSIUM,
    bag,
    draws,
    in_syringes,
    ingredient,
    order,
    solution,
    vancomycin,
)

from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.worksheet import ContainerKind, Worksheet


def counted(sheet: Worksheet) -> list[str]:
    return [f"{supply.count} × {supply.name}" for supply in sheet.supplies]


def test_one_syringe_and_one_needle_a_draw() -> None:
    assert counted(reckon(vancomycin())) == [
        "3 × 30 mL syringe",
        "3 × needle",
        "3 × syringe cap",
        "5 × alcohol wipe",
        "1 × label",
        "1 × bin",
    ]


def test_an_ampoule_takes_a_filter_needle_and_a_needle_to_change_to() -> None:
    found = counted(reckon(in_syringes(ingredient(AMINOPHYLLINE, of(100, "mg")), units=2)))
    assert "2 × filter needle 5 micron" in found
    assert "2 × needle" in found
    assert "2 × label" in found


def test_a_hazardous_preparation_is_luer_lock_throughout() -> None:
    sheet = reckon(order(ingredient(FLUOROURACIL, of(3000, "mg"), hazardous=True), vehicle=bag(500)))
    syringes = [supply.name for supply in sheet.supplies if supply.name.endswith("syringe")]
    assert syringes
    assert all("luer-lock" in name for name in syringes)


def test_a_hazardous_preparation_is_closed_and_has_what_is_changed() -> None:
    sheet = reckon(order(ingredient(FLUOROURACIL, of(3000, "mg"), hazardous=True), vehicle=bag(500)))
    found = {supply.name: supply.count for supply in sheet.supplies}
    assert found["closed vial device"] == 3
    assert found["closed bag adapter"] == found["mat"] == found["transport bag"] == 1
    assert found["pair of outer gloves to change"] == found["hazardous waste bag"] == 1
    assert found["closed syringe adapter"] == len(sheet.draws)
    assert "needle" not in found, "nothing is pierced by a bare needle"


PREFILLED = solution(
    "bicarbonate 50 mEq", of(50, "mEq"), "50", of(1, "mEq/mL"), kind=ContainerKind.PREFILLED_SYRINGE
)


def test_a_prefilled_syringe_is_joined_by_a_connector_without_air() -> None:
    """Common practice, no source: tip to tip, nothing pierced, so no air to replace what is drawn."""
    sheet = reckon(order(ingredient(PREFILLED, of(40, "mEq")), vehicle=bag(500)))
    assert draws(sheet) == ["drug 40 mL in 60 mL: prefilled syringe 1 40 mL -> bag"]
    assert sheet.draws[0].air == of(0, "mL")
    found = {supply.name: supply.count for supply in sheet.supplies}
    assert found["luer connector"] == found["needle"] == 1


def test_a_prefilled_syringe_that_becomes_a_syringe_takes_no_needle_at_all() -> None:
    found = {s.name: s.count for s in reckon(in_syringes(ingredient(PREFILLED, of(20, "mEq")))).supplies}
    assert (found["luer connector"], "needle" in found) == (1, False)


def test_a_syringe_filled_from_others_is_joined_to_each() -> None:
    two = (ingredient(POTASSIUM, of(4, "mEq")), ingredient(MORPHINE, of(10, "mg")))
    found = {supply.name: supply.count for supply in reckon(in_syringes(*two)).supplies}
    assert found["luer connector"] == 2
