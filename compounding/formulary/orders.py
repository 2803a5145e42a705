"""Orders and formulations as lists: what is to be made, what may be ordered."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from compounding.formulary.models import Formulation, Order
from compounding.formulary.models.formulations import FormulationState
from compounding.formulary.models.orders import OrderState


def to_make() -> QuerySet[Order]:
    """Return the active orders, the most urgent first."""
    orders = Order.objects.filter(state=OrderState.ACTIVE).order_by("due_at", "number")
    return orders.select_related("formulation__diluent").prefetch_related("doses__ingredient__substance")


#: What was due longer ago and never begun is listed with the orders only: else the tablet's list would look
#: through every order that was ever made (our own, no source).
LISTED_FOR = timedelta(days=30)


def to_make_lately(at: datetime) -> QuerySet[Order]:
    """Return the active orders that are due, or were so lately, the most urgent first."""
    return to_make().filter(due_at__gte=at - LISTED_FOR)


def orderable(on: date) -> list[Formulation]:
    """Return the formulations that may be ordered on a day: of each code the latest approved version."""
    latest: dict[str, Formulation] = {}
    approved = Formulation.objects.filter(state=FormulationState.APPROVED, effective_from__lte=on)
    for formulation in approved.order_by("code", "version").prefetch_related("ingredients__substance"):
        latest[formulation.code] = formulation
    return sorted(latest.values(), key=lambda formulation: formulation.title)


def formulation_in_force(code: str, on: date) -> Formulation | None:
    """Return the version of a formulation that is ordered on a day, None where there is none."""
    return next((formulation for formulation in orderable(on) if formulation.code == code), None)
