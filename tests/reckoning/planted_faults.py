"""Orders for the second arithmetic and the faults planted into their worksheets: plain functions."""

from decimal import Decimal
from typing import Any

from prepared_orders import (
    AMINOPHYLLINE,
    CEFAZOLIN,
    FLUOROURACIL,
    KETOROLAC,
    MAGNESIUM,
    ONDANSETRON,
    ONDANSETRON_MULTI,
    POTASSIUM,
    VANCOMYCIN,
    bag,
    in_syringes,
    ingredient,
    order,
    solution,
    stricter,
    vancomycin,
)

from compounding.reckoning.quantities import of
from compounding.reckoning.worksheet import FinalContainer

Plain = dict[str, Any]


def emptied(*ingredients: Any, volume: int, **more: Any) -> Any:
    return order(
        *ingredients, vehicle=bag(1000), method="fill to volume", final_container=FinalContainer.EMPTY_BAG,
        final_volume=of(volume, "mL"), **more,
    )  # fmt: skip


LARGE = solution("large 5 g", of(5, "g"), "100", of(50, "mg/mL"))
POWDER = vancomycin("1100", vehicle=bag(250, 25, 300))
TWO_POWDERS = order(
    ingredient(VANCOMYCIN, of(1, "g")), ingredient(CEFAZOLIN, of(990, "mg")), vehicle=bag(500)
)
WITHDRAWN = order(ingredient(AMINOPHYLLINE, of(500, "mg")), vehicle=bag(100, 8, 120))
HAZARDOUS = order(ingredient(FLUOROURACIL, of(1000, "mg"), hazardous=True), vehicle=bag(500, 40))
MIXED = order(
    ingredient(FLUOROURACIL, of(1000, "mg"), hazardous=True),
    ingredient(ONDANSETRON, of(4, "mg")),
    vehicle=bag(500),
)
ALONE = in_syringes(ingredient(KETOROLAC, of(30, "mg")))
BATCH = in_syringes(ingredient(ONDANSETRON_MULTI, of(4, "mg")), units=12)
PAIR = in_syringes(ingredient(ONDANSETRON_MULTI, of(4, "mg")), units=2)
SALTS = order(ingredient(POTASSIUM, of(10, "mEq")), ingredient(MAGNESIUM, of(2, "g")), vehicle=bag(1000))
FILLED = emptied(ingredient(AMINOPHYLLINE, of(500, "mg")), volume=100)
SPARE = emptied(ingredient(LARGE, of(500, "mg")), volume=20)  # 10 mL of 100 mL, filled with 10 mL
# 3.5 g are 70 mL, 35 and 35; 70 ÷ 1,000 is not above 10 percent
HALVES = order(ingredient(LARGE, of(3500, "mg")), vehicle=bag(1000))
# two bags of 21.7 mL (21 in 30 mL, 0.7 in 1 mL) and 178.3 mL to fill with
TIGHT = emptied(
    ingredient(LARGE, of(1085, "mg")), volume=200, units=2,
    policy=stricter(rounding_limit_percent=Decimal("0.5")),
)  # fmt: skip


def draw_of(sheet: Plain, number: int) -> Plain:
    found: Plain = next(d for t in sheet["transfers"] for d in t["draws"] if d["number"] == number)
    return found


def move(sheet: Plain, number: int, to: str, portion: str | None = None) -> None:
    """Give a draw another target and its last portion what makes the sum right."""
    draw = draw_of(sheet, number)
    draw["target"] = to
    draw["sources"][-1]["volume"] = portion or to


def half_more(sheet: Plain) -> None:
    for number in (1, 2):
        move(sheet, number, "35.5 mL")
        draw_of(sheet, number)["required"] = "35.5 mL"


def take_from(sheet: Plain, number: int, key: str) -> None:
    draw_of(sheet, number)["sources"][-1]["container"] = key


def first(sheet: Plain) -> Plain:
    one: Plain = sheet["ingredients"][0]
    return one


def all_from_the_first_vial(sheet: Plain) -> None:
    for number in range(1, 13):
        take_from(sheet, number, "vial 1")


def another_vial(sheet: Plain) -> None:
    sheet["containers"].append({**sheet["containers"][0], "key": "vial 3"})


def bind_the_later(sheet: Plain) -> None:
    later = sheet["limits"][0]
    sheet["limits"][1]["binding"], later["binding"] = False, True
    sheet["beyond_use_at"] = later["ends_at"]
