"""An order that could never be made is refused on the form it was typed into, which keeps every word."""

from __future__ import annotations

import pytest
from django.urls import reverse

from cast import Cast
from compounding.formulary.models import FormulationIngredient, Order
from tests.checklists.test_order_changes import typed_order
from tests.checklists.walks import sign_in, words

pytestmark = pytest.mark.django_db


def test_an_order_over_a_limit_is_refused_where_it_was_typed(everybody: Cast) -> None:
    FormulationIngredient.objects.update(most_concentration="1 mg/mL")
    fields = typed_order()
    typed = {**fields, **fields.pop("doses"), "key": "k" * 32}  # type: ignore[dict-item]
    answer = sign_in(everybody["pharmacist"]).post(reverse("enter_order"), typed)
    assert answer.status_code == 409
    assert "above the limit of 1 mg/mL" in words(answer)
    assert 'value="Bram Adeyemi"' in answer.content.decode()
    assert not Order.objects.filter(patient_name="Bram Adeyemi").exists()
