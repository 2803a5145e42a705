"""The upkeep pages: what may be changed there, and what may not."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from django.contrib import admin
from django.test import RequestFactory

from compounding.formulary import PROGRAM_VERSION, intake
from compounding.formulary.admin import IngredientInline
from compounding.formulary.models import Formulation, Lot, Order, Product, SitePolicy, Substance
from compounding.formulary.policy import current_policy, limits_in_force
from compounding.formulary.typed import OrderFields
from tests.formulary.fixed import NOW

pytestmark = pytest.mark.usefixtures("shelf")


class Chief:
    """Somebody who may do anything; the pages themselves must still refuse."""

    is_active = is_staff = is_superuser = True

    def has_perm(self, *_: object) -> bool:
        return True

    def __str__(self) -> str:
        return "Edda Solheim, supervisor"


@pytest.fixture
def request_of_chief(rf: RequestFactory) -> Any:
    request: Any = rf.get("/")
    request.user = Chief()
    return request


@pytest.mark.parametrize("model", [Substance, Product, Lot, Formulation, Order, SitePolicy])
def test_nothing_can_be_deleted(model: Any, request_of_chief: Any) -> None:
    assert not admin.site.get_model_admin(model).has_delete_permission(request_of_chief)


def test_orders_are_to_look_at_only(request_of_chief: Any, vancomycin: OrderFields) -> None:
    page = admin.site.get_model_admin(Order)
    order = intake.enter_order(by="x", at=NOW, **vancomycin)
    assert not page.has_add_permission(request_of_chief)
    assert not page.has_change_permission(request_of_chief, order)
    assert page.has_view_permission(request_of_chief, order)
    (doses,) = page.get_inline_instances(request_of_chief, order)
    assert not doses.has_change_permission(request_of_chief, order)


def test_an_approved_formulation_and_its_ingredients_stand(request_of_chief: Any) -> None:
    page = admin.site.get_model_admin(Formulation)
    found = Formulation.objects.first()
    assert found is not None
    inline = IngredientInline(Formulation, admin.site)
    assert not page.has_change_permission(request_of_chief, found)
    assert not inline.has_add_permission(request_of_chief, found)
    found.state = "draft"
    assert page.has_change_permission(request_of_chief, found)
    assert inline.has_delete_permission(request_of_chief, found)


def test_the_number_on_a_container_is_not_changed_later(request_of_chief: Any) -> None:
    page = admin.site.get_model_admin(Product)
    assert "gtin" in page.get_readonly_fields(request_of_chief, Product.objects.first())
    assert "gtin" not in page.get_readonly_fields(request_of_chief)


def test_lots_are_to_look_at_only(request_of_chief: Any) -> None:
    """A recall must stop the work, which an edited row would not."""
    page = admin.site.get_model_admin(Lot)
    assert not page.has_add_permission(request_of_chief)
    assert not page.has_change_permission(request_of_chief, Lot.objects.first())
    assert page.has_view_permission(request_of_chief, Lot.objects.first())


def test_limits_changed_there_are_a_new_version_signed(request_of_chief: Any) -> None:
    page = admin.site.get_model_admin(SitePolicy)
    assert page.get_changeform_initial_data(request_of_chief) == limits_in_force()
    row = SitePolicy(**limits_in_force(), reason="committee")
    page.save_model(request_of_chief, row, None, False)
    assert (row.version, row.changed_by) == (2, "Edda Solheim, supervisor")
    assert current_policy().version == 2
    assert not page.has_change_permission(request_of_chief, row)


def test_the_program_knows_its_own_version() -> None:
    declared = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())
    assert declared["project"]["version"] == PROGRAM_VERSION
