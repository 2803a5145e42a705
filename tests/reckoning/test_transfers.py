"""Containers are numbered across the worksheet, opened as needed; air goes in as the container allows."""

from prepared_orders import (
    CEFAZOLIN,
    FLUOROURACIL,
    ONDANSETRON,
    VANCOMYCIN,
    bag,
    ingredient,
    order,
)

from compounding.reckoning.quantities import of, write
from compounding.reckoning.reckon import reckon


def test_numbers_run_across_ingredients_and_a_diluent_is_shared() -> None:
    sheet = reckon(
        order(
            ingredient(CEFAZOLIN, of(1, "g")),
            ingredient(VANCOMYCIN, of(500, "mg")),
            ingredient(ONDANSETRON, of(4, "mg")),
            vehicle=bag(500),
        )
    )
    assert [(box.key, box.role, box.ingredient) for box in sheet.containers] == [
        ("vial 1", "drug", 1),
        ("vial 2", "drug", 1),
        ("diluent vial 1", "diluent", 1),
        ("vial 3", "drug", 2),
        ("diluent vial 2", "diluent", 2),
        ("vial 4", "drug", 3),
        ("bag", "bag", None),
    ]
    # two goes of 2.5 mL leave 15 mL, too little for 20 mL from one vial
    assert [transfer.purpose for transfer in sheet.transfers] == [
        "reconstitute",
        "drug",
        "reconstitute",
        "drug",
        "drug",
    ]
    assert [transfer.number for transfer in sheet.transfers] == [1, 2, 3, 4, 5]


def test_withdrawing_comes_after_reconstituting_and_before_the_first_drug() -> None:
    sheet = reckon(order(ingredient(VANCOMYCIN, of(1250, "mg")), vehicle=bag(100)))
    assert [transfer.purpose for transfer in sheet.transfers] == ["reconstitute", "withdraw", "drug"]


def test_units_of_a_batch_are_withdrawn_from_and_added_to_one_by_one() -> None:
    sheet = reckon(order(ingredient(VANCOMYCIN, of(1250, "mg")), vehicle=bag(100), units=2))
    withdrawn, drug = sheet.transfers[1:]
    assert [(draw.turn, draw.sources[0].container, draw.destination) for draw in withdrawn.draws] == [
        (1, "bag 1", "waste"),
        (2, "bag 2", "waste"),
    ]
    assert [draw.destination for draw in drug.draws] == ["bag 1", "bag 2"]
    # 50 mL for two units from vials of 20 mL: three vials, and the second is shared
    assert [[(one.container, write(one.volume)) for one in draw.sources] for draw in drug.draws] == [
        [("vial 1", "20 mL"), ("vial 2", "5 mL")],
        [("vial 2", "15 mL"), ("vial 3", "10 mL")],
    ]


def test_air_for_a_hazardous_drug_goes_down_to_a_mark() -> None:
    sheet = reckon(order(ingredient(FLUOROURACIL, of(725, "mg"), hazardous=True), vehicle=bag(500)))
    # three quarters of 14.5 mL are 10.875 mL
    assert (write(sheet.draws[0].target), write(sheet.draws[0].air)) == ("14.5 mL", "10.5 mL")
