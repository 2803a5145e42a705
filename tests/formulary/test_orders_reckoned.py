"""An order is reckoned as it is entered: what can never be made is refused there."""

from typing import Any

import pytest

from compounding.formulary import intake
from compounding.formulary.models import FormulationIngredient, Lot, Order
from compounding.formulary.typed import OrderFields
from compounding.reckoning.refusals import Refusal
from tests.formulary.fixed import NOW

pytestmark = pytest.mark.usefixtures("shelf")


def enter(fields: OrderFields, **other: Any) -> Order:
    return intake.enter_order(by="Ilse Varga", at=NOW, **{**fields, **other})  # type: ignore[misc]


def test_what_cannot_be_made_is_said_when_it_is_ordered(vancomycin: OrderFields) -> None:
    # 1,100 mg in 250 mL is over 4 mg/mL; nobody is to learn it at the hood. Common practice, no source.
    FormulationIngredient.objects.update(most_concentration="4 mg/mL")
    with pytest.raises(Refusal, match="4 mg/mL"):
        enter(vancomycin)
    assert Order.objects.count() == 0
    assert enter(vancomycin, doses={"dose-1": "900 mg"}).state == "active"


def test_an_order_cannot_be_changed_into_what_cannot_be_made(vancomycin: OrderFields) -> None:
    order = enter(vancomycin)
    FormulationIngredient.objects.update(most_concentration="4 mg/mL")
    with pytest.raises(Refusal, match="4 mg/mL"):
        intake.change_order(order, by="x", at=NOW, reason="higher", doses={"dose-1": "1.2 g"})
    order.refresh_from_db()
    assert (order.state, Order.objects.count()) == ("active", 1)


def test_an_empty_shelf_does_not_forbid_an_order(vancomycin: OrderFields) -> None:
    Lot.objects.all().delete()
    assert enter(vancomycin).state == "active"
