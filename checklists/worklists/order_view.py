"""An order as it was written, for whoever compares something with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from compounding.formulary.models import Order


@dataclass(frozen=True)
class OrderView:
    """The order as it was written."""

    number: str
    patient: str
    identifier: str
    born: str
    allergies: str
    doses: tuple[str, ...]
    route: str
    weight: str
    prescriber: str
    ward: str
    units: int
    due_at: datetime


def order_view(order: Order) -> OrderView:
    """Return the order as it was written."""
    doses = order.doses.select_related("ingredient__substance")
    return OrderView(
        number=order.number,
        patient=order.patient_name or _("for stock"),
        identifier=order.patient_identifier,
        born=date_format(order.born_on) if order.born_on else "",
        allergies=order.allergies,
        doses=tuple(f"{one.ingredient.substance.written} {one.written}" for one in doses),
        route=order.route,
        weight=f"{order.body_weight} ({date_format(order.weighed_on)})" if order.weighed_on else "",
        prescriber=order.prescriber,
        ward=order.ward,
        units=order.units,
        due_at=order.due_at,
    )
