"""An order from a file, without a patient, becomes a worksheet; nothing of it is kept.

Either it names a formulation of the database, or it gives every ingredient in full and needs no database.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import DatabaseError, transaction
from django.utils import timezone

from compounding.formulary import intake, worksheets
from compounding.formulary.models import Formulation
from compounding.formulary.orders import formulation_in_force
from compounding.formulary.paper_facts import Facts, PaperOrderRefused, parsed, shown
from compounding.formulary.paper_requests import request_of
from compounding.formulary.refusals import OrderRefused
from compounding.formulary.typed import OrderFields
from compounding.reckoning import quantities
from compounding.reckoning.mixture import MOST_UNITS
from compounding.reckoning.quantities import Kind, Quantity
from compounding.reckoning.reckon import reckon
from compounding.reckoning.worksheet import Worksheet

NOBODY = {
    "patient_name": "worksheet without a patient",
    "patient_identifier": "none",
    "allergies": "not stated",
    "prescriber": "not stated",
    "ward": "none",
}


def worksheet_of(text: str, now: datetime) -> Worksheet:
    """Return the worksheet of an order in JSON; preparation starts when the file says, else now.

    Refuses PaperOrderRefused with a sentence for each fault, and whatever intake and reckoning refuse.
    """
    facts = Facts(parsed(text))
    if facts.is_missing("formulation"):
        return reckon(request_of(facts, now))
    return _by_code(facts, now)


def by_formulation(formulation: Formulation, fields: OrderFields, at: datetime) -> Worksheet:
    """Return the worksheet of an order for nobody, entered, reckoned and taken back again.

    Refuses what intake and reckoning refuse.
    """
    due = timezone.localtime(at + timedelta(hours=1)).strftime("%Y-%m-%dT%H:%M")
    weighed = timezone.localdate(at).isoformat() if fields.get("body_weight") else ""
    usual = {"route": formulation.route_list[0], "due_at": due, "weighed_on": weighed, "units": "1"}
    asked = OrderFields(**{**NOBODY, **usual, "formulation": formulation.code, **fields})  # type: ignore[typeddict-item]
    with transaction.atomic():
        try:
            order = intake.enter_order(by="worksheet on paper", at=at, **asked)
            return worksheets.for_order(order, at)
        finally:
            transaction.set_rollback(True)


def _by_code(facts: Facts, now: datetime) -> Worksheet:
    code, at = facts.text("formulation"), facts.moment("started_at", now)
    units = facts.count("units", MOST_UNITS, 1)
    weight = facts.amount_if_given("body_weight", Kind.BODY_WEIGHT)
    height = facts.amount_if_given("height", Kind.LENGTH)
    doses = facts.part("doses")
    named = {name: doses.amount(name, Kind.DOSE) for name in doses.names()}
    facts.done()
    facts.settle()
    try:
        return _ordered(code, named, {"units": str(units), **_measures(weight, height)}, at)
    except DatabaseError as error:
        sentence = "The database does not answer. Set it up and load a formulary, or give all in full."
        raise PaperOrderRefused([sentence]) from error


def _measures(weight: Quantity | None, height: Quantity | None) -> dict[str, str]:
    given = {"body_weight": weight, "height": height}
    return {name: quantities.store(amount) for name, amount in given.items() if amount is not None}


def _ordered(code: str, doses: dict[str, Quantity], fields: dict[str, str], at: datetime) -> Worksheet:
    """Return the worksheet of a formulation in force. Refuses PaperOrderRefused in words of the file."""
    formulation = formulation_in_force(code, timezone.localdate(at))
    if formulation is None:
        raise PaperOrderRefused(
            [f"No formulation “{shown(code)}” may be ordered on that day. Write another code."]
        )
    places = {one.substance.name: one.field for one in formulation.ingredients.select_related("substance")}
    unknown = [name for name in doses if name not in places]
    if unknown:
        known = " and ".join(places)
        raise PaperOrderRefused(
            [f"Doses has “{shown(name)}”. This formulation takes a dose of {known}." for name in unknown]
        )
    typed = {places[name]: quantities.store(dose) for name, dose in doses.items()}
    try:
        return by_formulation(formulation, OrderFields(**fields, doses=typed), at)  # type: ignore[typeddict-item]
    except OrderRefused as refused:
        names = {field: f"dose of {name}" for name, field in places.items()}
        raise PaperOrderRefused(
            [f"{names.get(field, field).capitalize()}: {said}" for field, said in refused.by_field.items()]
        ) from refused
