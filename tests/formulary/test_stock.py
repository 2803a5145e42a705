"""Which product is taken: only what may be used, least waste, then fewest containers, first expiry first.

Numbers recomputed by hand beside each case; the rule is the project’s own, no source.
"""

from datetime import timedelta

import pytest

from compounding.formulary import stock
from compounding.formulary.models import FormulationIngredient, Lot, Product
from compounding.formulary.refusals import NothingInStock
from compounding.reckoning.quantities import of
from tests.formulary.fixed import NOW

pytestmark = pytest.mark.usefixtures("shelf")


def chosen(code: str, number: int, unit: str, position: int = 1) -> str:
    ingredient = FormulationIngredient.objects.get(formulation__code=code, position=position)
    return stock.choice(ingredient, of(number, unit), NOW).product.name


@pytest.mark.parametrize(
    ("number", "product"),
    [
        (20, "potassium chloride 20 mEq per 10 mL vial"),  # 1 × 20 wastes 0; 1 × 40 wastes 20
        (
            30,
            "potassium chloride 40 mEq per 20 mL vial",
        ),  # 2 × 20 and 1 × 40 waste 10; one container is fewer
        (40, "potassium chloride 40 mEq per 20 mL vial"),  # both waste 0; one container is fewer
    ],
)
def test_least_waste_then_fewest_containers(number: int, product: str) -> None:
    assert chosen("potassium-nacl-1000", number, "mEq") == product


def test_another_strength_is_never_taken_where_the_formulation_names_one() -> None:
    # 500 mg vials would waste less of 1,100 mg (400 mg against 900 mg)
    assert chosen("vancomycin-nacl-250", 1100, "mg") == "vancomycin 1 g powder vial"
    ingredient = FormulationIngredient.objects.get(formulation__code="vancomycin-nacl-250")
    ingredient.allowed_products.clear()
    assert chosen("vancomycin-nacl-250", 1100, "mg") == "vancomycin 500 mg powder vial"


def test_a_whole_batch_is_taken_together() -> None:
    # 12 × 4 mg = 48 mg: two 40 mg vials waste 32 mg, twelve 4 mg vials nothing, but only the first is allowed
    assert chosen("ondansetron-syringes", 48, "mg") == "ondansetron 40 mg per 20 mL multi-dose vial"


def test_the_lot_that_expires_first_is_the_one_to_use() -> None:
    product = Product.objects.get(name="vancomycin 1 g powder vial")
    assert stock.needed(product, NOW).first_lot.number == "HV2298"
    assert stock.needed(product, NOW + timedelta(days=10)).first_lot.number == "HV2311"


@pytest.mark.parametrize(
    "change", [{"state": "quarantined"}, {"state": "recalled"}, {"expires_on": "2026-11-24"}]
)
def test_a_product_without_a_usable_lot_is_passed_over_or_refused(change: dict[str, str]) -> None:
    Lot.objects.filter(product__name="potassium chloride 40 mEq per 20 mL vial").update(**change)
    assert chosen("potassium-nacl-1000", 40, "mEq") == "potassium chloride 20 mEq per 10 mL vial"
    Lot.objects.filter(product__substance__name="potassium chloride").update(**change)
    with pytest.raises(NothingInStock, match="no potassium chloride in stock"):
        chosen("potassium-nacl-1000", 40, "mEq")


def test_a_lot_may_be_used_on_its_last_day() -> None:
    Lot.objects.filter(product__substance__name="ketorolac").update(expires_on="2026-11-25")
    assert chosen("ketorolac-syringe", 30, "mg") == "ketorolac 30 mg/mL vial"
