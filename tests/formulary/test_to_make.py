"""What is to be made, and what may be ordered."""

from datetime import timedelta

import pytest

from compounding.formulary import intake, orders
from compounding.formulary.models import Formulation
from compounding.formulary.typed import OrderFields
from tests.formulary.fixed import DAY, NOW

pytestmark = pytest.mark.usefixtures("shelf")


def test_the_most_urgent_order_comes_first_and_closed_ones_not_at_all(vancomycin: OrderFields) -> None:
    due = ["2026-11-25T14:00", "2026-11-25T10:00", "2026-11-25T12:00", "2026-11-25T09:30"]
    late, soon, middle, gone = (
        intake.enter_order(by="x", at=NOW, **{**vancomycin, "due_at": moment}) for moment in due
    )
    intake.cancel_order(gone, reason="discharged", by="x", at=NOW)
    assert list(orders.to_make()) == [soon, middle, late]


def newer(code: str, **other: object) -> Formulation:
    formulation = Formulation.objects.get(code=code)
    formulation.pk, formulation.version = None, 2
    for name, value in other.items():
        setattr(formulation, name, value)
    formulation.save()
    return formulation


def test_the_latest_approved_version_in_force_is_ordered() -> None:
    code = "ketorolac-syringe"
    newer(code, effective_from=DAY + timedelta(days=2))
    assert orders.formulation_in_force(code, DAY).version == 1  # type: ignore[union-attr]
    assert orders.formulation_in_force(code, DAY + timedelta(days=2)).version == 2  # type: ignore[union-attr]


def test_a_draft_is_not_ordered() -> None:
    newer("ketorolac-syringe", state="draft")
    assert [found.version for found in orders.orderable(DAY)] == [1] * 15


def test_what_is_unknown_cannot_be_ordered() -> None:
    assert orders.formulation_in_force("no-such-thing", DAY) is None
