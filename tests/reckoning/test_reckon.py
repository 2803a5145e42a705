"""Whole orders, every number written by hand. Volumes and strengths: US labels (standards.md section 10);
syringes: ISO 7886-1 and published practice (section 5); withdrawing above 10 percent: section 6.
"""

from dataclasses import replace
from datetime import datetime
from decimal import Decimal

import pytest
from prepared_orders import (
    ACYCLOVIR,
    AMINOPHYLLINE,
    CEFAZOLIN,
    EIGHT,
    FLUOROURACIL,
    HEPARIN,
    KETOROLAC,
    MAGNESIUM,
    MORPHINE,
    ONDANSETRON,
    ONDANSETRON_MULTI,
    POTASSIUM,
    bag,
    draws,
    in_syringes,
    ingredient,
    order,
    vancomycin,
)

from compounding.reckoning.quantities import of, write
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import (
    MissingFact,
)
from compounding.reckoning.request import Vehicle
from compounding.reckoning.worksheet import ContainerKind, FinalContainer, Worksheet

D = Decimal


def supplies(sheet: Worksheet) -> dict[str, int]:
    return {supply.name: supply.count for supply in sheet.supplies}


def test_vancomycin_from_two_powder_vials_into_250_ml() -> None:
    sheet = reckon(vancomycin("1250", vehicle=bag(250, 25, 325)))
    assert draws(sheet) == [
        "reconstitute 20 mL in 30 mL: diluent vial 1 20 mL -> vial 1",
        "reconstitute 20 mL in 30 mL: diluent vial 2 20 mL -> vial 2",
        "drug 25 mL in 30 mL: vial 1 12.5 mL + vial 2 12.5 mL -> bag",
    ]
    one = sheet.ingredients[0]
    assert (one.dose, one.volume, one.strength) == (of(1250, "mg"), of(25, "mL"), of(50, "mg/mL"))
    # 25 mL is 10 percent of 250 mL, not above: added
    assert (sheet.method, sheet.final_volume, sheet.true_volume) == ("add only", of(275, "mL"), of(300, "mL"))
    assert (one.concentration, one.true_concentration) == (of("4.545", "mg/mL"), of("4.167", "mg/mL"))
    texts = [line.text for line in sheet.working]
    assert "1,250 mg ÷ 50 mg/mL = 25 mL" in texts
    assert "25 mL ÷ 20 mL = 1.25: vial 1, vial 2" in texts
    assert "1,250 mg ÷ 275 mL = 4.55 mg/mL" in texts
    assert sheet.proof[0].text == "25 mL × 50 mg/mL = 1,250 mg; ordered 1,250 mg, 0 % off"
    assert (one.how_to_dissolve, one.dissolve_seconds) == ("swirl", 60)
    assert sheet.warnings == ()


def test_the_sketch_1100_mg_are_11_ml_from_each_vial() -> None:
    sheet = reckon(vancomycin("1100"))
    assert draws(sheet)[-1] == "drug 22 mL in 30 mL: vial 1 11 mL + vial 2 11 mL -> bag"
    assert sheet.draws[-1].air == of(22, "mL")


def test_cefazolin_2_g_takes_three_vials() -> None:
    sheet = reckon(order(ingredient(CEFAZOLIN, of(2, "g")), vehicle=bag(100, 8)))
    assert draws(sheet) == [
        "reconstitute 2.5 mL in 3 mL: diluent vial 1 2.5 mL -> vial 1",
        "reconstitute 2.5 mL in 3 mL: diluent vial 1 2.5 mL -> vial 2",
        "reconstitute 2.5 mL in 3 mL: diluent vial 1 2.5 mL -> vial 3",
        "drug 6 mL in 10 mL: vial 1 2 mL + vial 2 2 mL + vial 3 2 mL -> bag",
    ]
    drawn = sheet.draws[-1]
    assert write(drawn.required, 2) == "6.06 mL"
    # 6 mL × 330 mg/mL = 1,980 mg: 1 percent below 2 g; label strength rounded by 1 percent too
    assert (drawn.error.rounding, drawn.error.instrument, drawn.error.strength) == (D(1), D(4), D(1))
    assert (drawn.error.expected, drawn.error.worst) == (D("4.24"), D(6))
    assert sheet.final_volume == of("106.06", "mL")
    assert "it takes 3" in sheet.warnings[0]
    assert sheet.proof[0].text == "6 mL × 330 mg/mL = 1,980 mg; ordered 2,000 mg, 1 % off"


def test_ondansetron_8_mg_from_two_vials() -> None:
    sheet = reckon(order(ingredient(ONDANSETRON, of(8, "mg")), vehicle=bag(50, 5)))
    assert draws(sheet) == ["drug 4 mL in 5 mL: vial 1 2 mL + vial 2 2 mL -> bag"]
    assert sheet.final_volume == of(54, "mL")
    assert supplies(sheet) == {
        "5 mL syringe": 1, "needle": 1, "syringe cap": 1, "alcohol wipe": 3, "label": 1, "bin": 1,
    }  # fmt: skip


def test_aminophylline_is_20_percent_so_as_much_is_withdrawn_first() -> None:
    sheet = reckon(
        order(ingredient(AMINOPHYLLINE, of(500, "mg"), protect_from_light=True), vehicle=bag(100, 8))
    )
    assert draws(sheet) == [
        "withdraw 20 mL in 30 mL: bag 20 mL -> waste",
        "drug 20 mL in 30 mL: ampoule 1 10 mL + ampoule 2 10 mL -> bag",
    ]
    assert (sheet.method, sheet.final_volume, sheet.true_volume) == (
        "withdraw equal",
        of(100, "mL"),
        of(108, "mL"),
    )
    assert sheet.ingredients[0].concentration == of(5, "mg/mL")
    assert [draw.air for draw in sheet.draws] == [of(0, "mL")] * 2
    found = supplies(sheet)
    assert (found["filter needle 5 micron"], found["needle"], found["light cover"]) == (1, 2, 1)
    assert sheet.protect_from_light


def test_potassium_and_magnesium_into_a_litre() -> None:
    sheet = reckon(
        order(
            ingredient(POTASSIUM, of(20, "mEq"), high_alert=True),
            ingredient(MAGNESIUM, of(2, "g")),
            vehicle=bag(1000, 50),
        )
    )
    assert draws(sheet) == [
        "drug 10 mL in 20 mL: vial 1 10 mL -> bag",
        "drug 4 mL in 5 mL: vial 2 4 mL -> bag",
    ]
    assert sheet.final_volume == of(1014, "mL")
    assert [one.concentration for one in sheet.ingredients] == [of("0.01972", "mEq/mL"), of("1.972", "mg/mL")]
    assert [one.high_alert for one in sheet.ingredients] == [True, False]
    assert [one.key for one in sheet.containers] == ["vial 1", "vial 2", "bag"]
    assert sheet.container("vial 2").ingredient == 2


def test_heparin_25000_units_from_1_ml_vials() -> None:
    sheet = reckon(order(ingredient(HEPARIN, of(25000, "units")), vehicle=bag(250)))
    assert draws(sheet) == ["drug 2.5 mL in 3 mL: vial 1 1 mL + vial 2 1 mL + vial 3 0.5 mL -> bag"]
    assert sheet.ingredients[0].concentration == of("99.01", "units/mL")


def test_acyclovir_by_body_weight() -> None:
    asked = order(ingredient(ACYCLOVIR, of(10, "mg/kg")), vehicle=bag(100, 8), body_weight=of(70, "kg"))
    sheet = reckon(asked)
    assert sheet.ingredients[0].dose == of(700, "mg")
    assert draws(sheet) == [
        "withdraw 14 mL in 20 mL: bag 14 mL -> waste",
        "drug 14 mL in 20 mL: vial 1 7 mL + vial 2 7 mL -> bag",
    ]
    assert "10 mg/kg × 70 kg = 700 mg" in [line.text for line in sheet.working]
    with pytest.raises(MissingFact, match="body weight"):
        reckon(replace(asked, body_weight=None))


def test_355_mg_of_acyclovir_are_7_1_ml() -> None:
    # WX037 (memory): 355 mg of 500 mg in 10 mL; 107.1 mL in the bag (WX291, memory). Drawn at 7.2 mL.
    sheet = reckon(order(ingredient(ACYCLOVIR, of(355, "mg")), vehicle=bag(100)))
    assert write(sheet.ingredients[0].volume) == "7.1 mL"
    assert write(sheet.draws[0].target) == "7.2 mL"
    assert sheet.final_volume == of("107.1", "mL")


def test_ketorolac_in_its_own_syringe() -> None:
    sheet = reckon(in_syringes(ingredient(KETOROLAC, of(30, "mg"))))
    assert draws(sheet) == ["drug 1 mL in 1 mL: vial 1 1 mL -> syringe 1"]
    assert (sheet.final_volume, sheet.diluent) == (of(1, "mL"), "")
    assert supplies(sheet) == {
        "1 mL syringe": 1, "needle": 1, "syringe cap": 1, "alcohol wipe": 1, "label": 1, "bin": 1,
    }  # fmt: skip


def test_a_batch_of_twelve_syringes_from_two_multi_dose_vials() -> None:
    sheet = reckon(in_syringes(ingredient(ONDANSETRON_MULTI, of(4, "mg")), units=12))
    assert len(sheet.transfers) == 1
    assert sheet.transfers[0].times == 12
    assert draws(sheet) == [
        f"drug 2 mL in 5 mL: vial {1 if number <= 10 else 2} 2 mL -> syringe {number}"
        for number in range(1, 13)
    ]
    assert [draw.turn for draw in sheet.draws] == list(range(1, 13))
    assert sheet.ingredients[0].dose == of(4, "mg")
    assert (supplies(sheet)["5 mL syringe"], supplies(sheet)["label"]) == (12, 12)
    assert len(sheet.proof) == 2


def test_fluorouracil_is_hazardous() -> None:
    sheet = reckon(order(ingredient(FLUOROURACIL, of(1000, "mg"), hazardous=True), vehicle=bag(500, 40, 600)))
    # 20 mL: a 20 mL syringe may hold 15 mL, a 30 mL one 22.5 mL; air at most three quarters, 15 mL
    assert draws(sheet) == ["drug 20 mL in 30 mL: vial 1 20 mL -> bag"]
    assert sheet.draws[0].air == of(15, "mL")
    assert sheet.hazardous
    assert supplies(sheet)["30 mL luer-lock syringe"] == 1


def test_by_body_surface_with_the_formula_named() -> None:
    sheet = reckon(
        order(
            ingredient(FLUOROURACIL, of(400, "mg/m2"), hazardous=True),
            vehicle=bag(500), body_weight=of(70, "kg"), height=of(170, "cm"),
        )
    )  # fmt: skip
    # √(170 × 70 ÷ 3600) = 1.8181 m2 (published 1.82, WX060); × 400 = 727.25 mg; ÷ 50 = 14.545 mL
    assert write(sheet.ingredients[0].dose, 2) == "727.25 mg"
    assert write(sheet.draws[0].required, 3) == "14.545 mL"
    assert write(sheet.draws[0].target) == "14.5 mL"
    assert any("Mosteller" in line.text for line in sheet.working)


def test_additive_and_overfill_withdrawn_for_an_exact_bag() -> None:
    sheet = reckon(
        order(
            ingredient(AMINOPHYLLINE, of(500, "mg")),
            vehicle=bag(100, 8),
            method="withdraw additive and overfill",
        )
    )
    assert draws(sheet)[0] == "withdraw 28 mL in 30 mL: bag 28 mL -> waste"
    assert sheet.final_volume == sheet.true_volume == of(100, "mL")


def test_an_empty_bag_filled_to_volume() -> None:
    sheet = reckon(
        order(
            ingredient(AMINOPHYLLINE, of(500, "mg")), vehicle=bag(250, 25), method="fill to volume", units=2,
            final_container=FinalContainer.EMPTY_BAG, final_volume=of(100, "mL"), empty_product="empty",
            empty_capacity=of(150, "mL"),
        )
    )  # fmt: skip
    assert draws(sheet) == [
        "drug 20 mL in 30 mL: ampoule 1 10 mL + ampoule 2 10 mL -> bag 1",
        "drug 20 mL in 30 mL: ampoule 3 10 mL + ampoule 4 10 mL -> bag 2",
        "fill 40 mL in 60 mL: diluent bag 1 40 mL -> bag 1",
        "fill 40 mL in 60 mL: diluent bag 1 40 mL -> bag 1",
        "fill 40 mL in 60 mL: diluent bag 1 40 mL -> bag 2",
        "fill 40 mL in 60 mL: diluent bag 1 40 mL -> bag 2",
    ]
    assert sheet.final_volume == of(100, "mL")


def test_a_syringe_filled_from_others_is_gathered_too() -> None:
    saline = Vehicle("saline", "saline", of(10, "mL"), of(0, "mL"), of(10, "mL"), ContainerKind.SOLUTION_VIAL)
    sheet = reckon(
        order(
            ingredient(MORPHINE, of(10, "mg")), vehicle=saline, method="fill to volume",
            final_container=FinalContainer.SYRINGE, final_volume=of(10, "mL"),
        )
    )  # fmt: skip
    assert draws(sheet) == [
        "drug 1 mL in 1 mL: vial 1 1 mL -> syringe 1",
        "fill 9 mL in 10 mL: diluent vial 1 9 mL -> syringe 1",
    ]
    assert supplies(sheet)["10 mL syringe"] == 2
    assert sheet.ingredients[0].concentration == of(1, "mg/mL")


def test_the_earliest_limit_is_the_beyond_use_date() -> None:
    sheet = reckon(vancomycin())
    assert datetime.fromisoformat(sheet.started_at) == EIGHT
    # stability of 48 h binds before the table's 10 days in the refrigerator
    assert sheet.beyond_use_at == "2026-11-27T08:00+00:00"
    assert [limit.binding for limit in sheet.limits].count(True) == 1
