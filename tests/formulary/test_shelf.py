"""The rows themselves: what a column refuses, what the database refuses, how each row is named."""

from datetime import UTC, datetime
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import override_settings

from compounding.formulary import intake
from compounding.formulary.models import (
    Formulation,
    FormulationIngredient,
    Lot,
    Order,
    OrderDose,
    Product,
    Substance,
)
from compounding.formulary.typed import OrderFields
from tests.formulary.fixed import NOW

pytestmark = pytest.mark.usefixtures("shelf")


def faults(row: Any, **other: Any) -> set[str]:
    for name, value in other.items():
        setattr(row, name, value)
    with pytest.raises(ValidationError) as refused:
        row.full_clean()
    return set(refused.value.message_dict)


def vancomycin() -> Product:
    return Product.objects.get(name="vancomycin 1 g powder vial")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("gtin", "02410100000071"),
        ("gtin", "123"),
        ("withdrawable", "20"),
        ("withdrawable", "20 mg"),
        ("withdrawable", "20.0 mL"),
        ("withdrawable", ""),
        ("content", "1,000 mg"),
        ("content", ""),
        ("reconstitution_strength", "50 mg"),
    ],
)
def test_a_product_is_refused_at_the_column(name: str, value: str) -> None:
    assert name in faults(vancomycin(), **{name: value})


def test_a_powder_says_how_it_is_dissolved() -> None:
    assert faults(vancomycin(), reconstitution_way="") == {"__all__"}


def test_a_solution_has_its_volume_and_strength() -> None:
    product = Product.objects.get(name="ondansetron 4 mg per 2 mL vial")
    assert faults(product, volume="") == {"volume"}
    assert faults(product, volume="2 mL", strength="") == {"strength"}


def test_a_product_is_a_drug_or_a_diluent() -> None:
    assert faults(vancomycin(), is_diluent=True) == {"__all__"}


def test_a_dose_limit_is_in_the_unit_of_the_dose() -> None:
    ingredient = FormulationIngredient.objects.get(formulation__code="potassium-nacl-1000")
    assert faults(ingredient, most_dose="40 mg") == {"most_dose"}
    assert faults(ingredient, most_dose="40 mEq", dose_unit="stones") == {"usual_dose"}


def test_a_lot_lasts_to_the_last_second_of_its_day_in_the_sites_zone() -> None:
    lot = Lot.objects.get(number="HV2298")  # 9 days from 25 November 2026
    assert lot.expires_at == datetime(2026, 12, 4, 23, 59, 59, tzinfo=UTC)
    with override_settings(TIME_ZONE="America/Chicago"):  # six hours behind in winter
        assert lot.expires_at == datetime(2026, 12, 5, 5, 59, 59, tzinfo=UTC)
        assert lot.is_in_date(datetime(2026, 12, 5, 5, 59, 59, tzinfo=UTC))
        assert not lot.is_in_date(datetime(2026, 12, 5, 6, 0, tzinfo=UTC))


@pytest.mark.parametrize(
    ("number", "usable"), [("HV2311", True), ("TC4402", False), ("TH9102", False), ("WN8790", False)]
)
def test_only_an_available_lot_in_date_is_usable(number: str, usable: bool) -> None:
    assert Lot.objects.get(number=number).is_usable(NOW) is usable


def test_every_row_says_what_it_is(vancomycin: OrderFields) -> None:
    order = intake.enter_order(by="x", at=NOW, **vancomycin)
    rows = [Substance, Product, Lot, Formulation, FormulationIngredient]
    assert [str(row.objects.order_by("pk").first()) for row in rows] == [
        "vancomycin",
        "sodium chloride 0.9 % 50 mL bag (Brookmoor Infusions)",
        "sodium chloride 0.9 % 50 mL bag, lot BN5011",
        "vancomycin in sodium chloride 0.9 % 250 mL (version 1)",
        "vancomycin in vancomycin in sodium chloride 0.9 % 250 mL",
    ]
    assert str(order) == f"{order.number}: vancomycin in sodium chloride 0.9 % 250 mL for Iris Calloway"


@pytest.mark.parametrize(
    "broken",
    [
        {"units": 0},
        {"patient_identifier": "", "born_on": None},
        {"patient_name": ""},
        {"allergies": ""},
        {"body_weight": "70 kg"},
        {"state": "cancelled"},
        {"state": "forgotten", "reason": "x", "closed_by": "x", "closed_at": NOW},
    ],
)
def test_the_database_itself_keeps_an_order_whole(vancomycin: OrderFields, broken: dict[str, Any]) -> None:
    order = intake.enter_order(by="x", at=NOW, **vancomycin)
    with pytest.raises(IntegrityError), transaction.atomic():
        Order.objects.filter(pk=order.pk).update(**broken)


def test_the_database_itself_keeps_products_and_lots_whole(vancomycin: OrderFields) -> None:
    order = intake.enter_order(by="x", at=NOW, **vancomycin)
    dose, lot = order.doses.get(), Lot.objects.get(number="HV2311")
    for again in (
        OrderDose(order=order, ingredient=dose.ingredient, dose="1 g"),
        Lot(product=lot.product, number="HV2311", expires_on=lot.expires_on, received_on=lot.received_on),
        Product(gtin="123", name="x", maker="x", kind="bag", is_diluent=True),
        Product(gtin="02410100000014", name="x", maker="x", kind="bag", is_diluent=False),
        Product(gtin=lot.product.gtin, name="x", maker="x", kind="bag", is_diluent=True),
        Order(number=order.number),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            again.save()
