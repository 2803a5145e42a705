"""The osmolarity of what goes into a small vein.

900 mOsmol/L is common practice (standards.md section 12); limits here are near the figure. Sodium chloride
308 mOsmol/L, magnesium sulfate 50 % 4.06 mOsmol/mL: as labels print them (memory).
"""

from dataclasses import replace
from typing import Any

from limited_orders import about, cautions, potassium
from prepared_orders import (
    MAGNESIUM,
    VANCOMYCIN,
    bag,
    ingredient,
    order,
    stricter,
)

from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.request import Request

# osmolarity: 20 mL of 2 mEq/mL onto 100 mL of 308 mOsmol/L is (30.8 + 80) mOsmol ÷ 0.12 L = 923.3 mOsmol/L


def to_small_vein(limit: str = "923", **more: Any) -> Request:
    salt = replace(bag(100, 9), osmolarity=of(308, "mOsmol/L"))
    policy = stricter(peripheral_limit=of(limit, "mOsmol/L"))
    return potassium(**{"vehicle": salt, "peripheral": True, "method": "add only", "policy": policy, **more})


def test_an_osmolarity_above_the_limit_for_a_small_vein_needs_a_reason() -> None:
    text = "The osmolarity is above 923 mOsmol/L, the limit for a peripheral vein."
    assert cautions(to_small_vein("923")) == [("osmolarity-above-limit", text)]
    assert cautions(to_small_vein("924")) == []
    assert about(reckon(to_small_vein("924")), "osmolarity")[-1] == "110.8 mOsmol ÷ 120 mL = 923.33 mOsmol/L"


def test_a_central_vein_or_an_unknown_part_leaves_the_osmolarity_out() -> None:
    unknown_diluent = bag(100, 9)
    mixed = order(
        ingredient(VANCOMYCIN, of(500, "mg")), peripheral=True,
        vehicle=replace(bag(100, 9), osmolarity=of(308, "mOsmol/L")),
    )  # fmt: skip
    for request in (to_small_vein(peripheral=False), to_small_vein(vehicle=unknown_diluent), mixed):
        sheet = reckon(request)
        assert sheet.cautions == ()
        assert about(sheet, "osmolarity") == []


def test_a_drugs_printed_osmolarity_counts() -> None:
    # 2 g ÷ 500 mg/mL = 4 mL × 4.06 mOsmol/mL = 16.24; + 30.8 = 47.04 mOsmol ÷ 104 mL = 452.3 mOsmol/L
    product = replace(MAGNESIUM, osmolarity=of("4.06", "mOsmol/mL"))
    salt = replace(bag(100, 9), osmolarity=of(308, "mOsmol/L"))
    sheet = reckon(order(ingredient(product, of(2, "g")), vehicle=salt, peripheral=True))
    assert about(sheet, "osmolarity")[-1] == "47.04 mOsmol ÷ 104 mL = 452.31 mOsmol/L"
