"""From a row of orders to a proved worksheet. Amounts recomputed by hand beside each case."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from compounding.formulary import PROGRAM_VERSION, intake, policy, worksheets
from compounding.formulary.loading import load_orders
from compounding.formulary.models import Formulation, Lot, Order, Product
from compounding.formulary.refusals import NothingInStock, OrderClosed
from compounding.formulary.typed import OrderFields
from compounding.reckoning.quantities import of
from compounding.reckoning.worksheet import Worksheet
from tests.formulary.fixed import NOW, SHARED

pytestmark = pytest.mark.usefixtures("shelf")


@pytest.fixture
def scenario(shelf: None) -> dict[str, Order]:
    orders = load_orders(SHARED / "scenario" / "orders.json", at=NOW, by="Ilse Varga")
    return {order.formulation.code: order for order in orders}


def drawn(worksheet: Worksheet) -> list[tuple[str, Any]]:
    return [(transfer.purpose.value, transfer.required) for transfer in worksheet.transfers]


EXPECTED = [
    # 1,100 mg ÷ 50 mg/mL = 22 mL from two vials, each dissolved in 20 mL
    ("vancomycin-nacl-250", [("reconstitute", "20"), ("drug", "22")]),
    # 8 mg ÷ 2 mg/mL = 4 mL
    ("ondansetron-nacl-50", [("drug", "4")]),
    # 350 mg ÷ 25 mg/mL = 14 mL; as much comes out of the bag first
    ("aminophylline-d5w-100", [("withdraw", "14"), ("drug", "14")]),
    # 4 mg ÷ 1 mg/mL
    ("norepinephrine-d5w-250", [("drug", "4")]),
    # 20 mEq ÷ 2 mEq/mL = 10 mL; 2 g ÷ 0.5 g/mL = 4 mL
    ("potassium-magnesium-nacl-1000", [("drug", "10"), ("drug", "4")]),
    ("potassium-nacl-1000", [("drug", "20")]),
    # 25,000 units ÷ 5,000 units/mL
    ("heparin-d5w-250", [("drug", "5")]),
    # 10 mg/kg × 62 kg = 620 mg; ÷ 50 mg/mL = 12.4 mL
    ("acyclovir-nacl-250", [("drug", "12.4")]),
    ("ketorolac-syringe", [("drug", "1")]),
    # 800 mg ÷ 50 mg/mL
    ("fluorouracil-nacl-500", [("drug", "16")]),
    ("famotidine-nacl-100", [("drug", "2")]),
]


@pytest.mark.parametrize(("code", "expected"), EXPECTED)
def test_the_demo_draws_what_was_reckoned_by_hand(
    scenario: dict[str, Order], code: str, expected: list[tuple[str, str]]
) -> None:
    worksheet = worksheets.for_order(scenario[code], NOW)
    assert drawn(worksheet) == [(purpose, of(volume, "mL")) for purpose, volume in expected]
    assert worksheet.proof


def test_a_quotient_that_does_not_end_stays_unrounded(scenario: dict[str, Order]) -> None:
    worksheet = worksheets.for_order(scenario["cefazolin-nacl-100"], NOW)
    required = worksheet.transfers[-1].required  # 750 mg ÷ 330 mg/mL = 2.2727… mL, drawn as 2.3 mL
    assert abs(required - of("2.272727272727", "mL")) < of("0.000000001", "mL")
    assert worksheet.draws[-1].target == of("2.3", "mL")


def test_a_batch_makes_each_unit_alike(scenario: dict[str, Order]) -> None:
    worksheet = worksheets.for_order(scenario["ondansetron-syringes"], NOW)
    assert worksheet.units == 12
    assert [draw.target for draw in worksheet.draws] == [of(2, "mL")] * 12
    assert [container.key for container in worksheet.containers] == ["vial 1", "vial 2"]


def test_the_worksheet_is_stamped_with_every_version(scenario: dict[str, Order]) -> None:
    policy.change_policy(reason="committee", by="Edda Solheim", agreement_percent=Decimal(3))
    worksheet = worksheets.for_order(scenario["ketorolac-syringe"], NOW)
    stamp = (worksheet.formulation, worksheet.formulation_version, worksheet.policy_version)
    assert stamp == ("ketorolac-syringe", 1, 2)
    assert worksheet.program_version == PROGRAM_VERSION


def test_a_policy_handed_in_is_the_one_that_counts(scenario: dict[str, Order]) -> None:
    # 22 mL of 250 mL is 8.8 percent: withdrawn first once the limit is 5 percent
    strict = policy.Policy(withdraw_over_percent=Decimal(5))
    worksheet = worksheets.for_order(scenario["vancomycin-nacl-250"], NOW, strict)
    assert ("withdraw", of(22, "mL")) in drawn(worksheet)


def test_the_first_lot_to_expire_may_set_the_beyond_use_date(scenario: dict[str, Order]) -> None:
    # the fridge allows 10 d (USP <797> 2023, Category 2, page), lot HV2298 ends on 4 December at 23:59
    worksheet = worksheets.for_order(scenario["vancomycin-nacl-250"], NOW)
    binding = next(limit for limit in worksheet.limits if limit.binding)
    assert "HV2298" in binding.what
    assert datetime.fromisoformat(worksheet.beyond_use_at) == datetime(2026, 12, 4, 23, 59, tzinfo=UTC)
    Lot.objects.filter(number="HV2298").update(state="quarantined")
    later = worksheets.for_order(scenario["vancomycin-nacl-250"], NOW)
    assert datetime.fromisoformat(later.beyond_use_at) == NOW + timedelta(days=10)


def test_the_formulations_own_limit_may_set_it_too(scenario: dict[str, Order]) -> None:
    worksheet = worksheets.for_order(scenario["famotidine-nacl-100"], NOW)
    assert datetime.fromisoformat(worksheet.beyond_use_at) == NOW + timedelta(hours=48)


def test_hazard_light_and_alert_reach_the_worksheet(scenario: dict[str, Order]) -> None:
    fluorouracil = worksheets.for_order(scenario["fluorouracil-nacl-500"], NOW)
    heparin = worksheets.for_order(scenario["heparin-d5w-250"], NOW)
    assert (fluorouracil.hazardous, fluorouracil.protect_from_light) == (True, True)
    assert (heparin.hazardous, heparin.protect_from_light) == (False, False)
    assert heparin.ingredients[0].high_alert


def test_light_cover_follows_the_substance_or_the_formulation(scenario: dict[str, Order]) -> None:
    made = {code: worksheets.for_order(order, NOW) for code, order in scenario.items()}
    covered = {code for code, worksheet in made.items() if worksheet.protect_from_light}
    assert covered == {"aminophylline-d5w-100", "norepinephrine-d5w-250", "fluorouracil-nacl-500"}
    assert [code for code, worksheet in made.items() if worksheet.hazardous] == ["fluorouracil-nacl-500"]


def test_a_formulation_alone_may_ask_for_light_cover(scenario: dict[str, Order]) -> None:
    order = scenario["heparin-d5w-250"]
    Formulation.objects.filter(pk=order.formulation.pk).update(light_cover=True)
    worksheet = worksheets.for_order(Order.objects.get(pk=order.pk), NOW)
    assert worksheet.protect_from_light
    assert "light cover" in {supply.name for supply in worksheet.supplies}


def test_an_empty_bag_is_filled_to_its_volume(scenario: dict[str, Order]) -> None:
    bag = Product.objects.create(
        gtin="02999900000018",
        name="empty 100 mL bag",
        maker="x",
        kind="bag",
        is_diluent=True,
        capacity="120 mL",
    )
    Lot.objects.create(product=bag, number="E1", expires_on="2027-12-31", received_on="2026-11-01")
    Formulation.objects.filter(code="famotidine-nacl-100").update(
        final_container="empty-bag", empty_bag=bag, final_volume="100 mL", method="fill to volume"
    )
    worksheet = worksheets.for_order(Order.objects.get(pk=scenario["famotidine-nacl-100"].pk), NOW)
    # 100 mL − 2 mL of drug = 98 mL of diluent
    filled = sum((number for purpose, number in drawn(worksheet) if purpose == "fill"), of(0, "mL"))
    assert filled == of(98, "mL")
    assert worksheet.final_volume == of(100, "mL")


def test_a_missing_bag_or_diluent_is_named(scenario: dict[str, Order]) -> None:
    Lot.objects.filter(product__name="sterile water for injection 20 mL vial").delete()
    with pytest.raises(NothingInStock, match="sterile water for injection 20 mL vial"):
        worksheets.for_order(scenario["vancomycin-nacl-250"], NOW)


def test_a_cancelled_order_is_not_made(vancomycin: OrderFields) -> None:
    order = intake.enter_order(by="x", at=NOW, **vancomycin)
    cancelled = intake.cancel_order(order, reason="discharged", by="x", at=NOW)
    with pytest.raises(OrderClosed, match=r"cancelled \(discharged\)"):
        worksheets.for_order(cancelled, NOW)
