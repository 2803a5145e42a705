"""What is gathered without a scan. Sources: 5 micron filter one way, luer-lock (standards.md sections 2
and 4).
"""

from prepared_orders import AMINOPHYLLINE, FLUOROURACIL, bag, in_syringes, ingredient, order, vancomycin

from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.worksheet import Worksheet


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
