"""An order as typed becomes one that may be taken, or a sentence at each field that stands in the way."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.utils import timezone

from compounding.formulary.models import Formulation, FormulationIngredient
from compounding.formulary.models.amounts import amount_or_none
from compounding.formulary.orders import formulation_in_force
from compounding.formulary.refusals import OrderRefused
from compounding.formulary.typed import OrderFields, Typed
from compounding.reckoning import dosing, quantities
from compounding.reckoning.quantities import Kind, Quantity
from compounding.reckoning.refusals import MissingFact, OverDoseLimit, Refusal, UnderDoseLimit

OLDEST = timedelta(days=130 * 366)
WEIGHTS = ("0.2 kg", "500 kg")  # plausible bounds against a slipped point; no source
HEIGHTS = ("20 cm", "260 cm")
LATE, AHEAD = timedelta(days=1), timedelta(days=60)
MOST_UNITS = 999


@dataclass(frozen=True)
class Requisition:
    """An order that may be taken: the columns of its row, and the dose of each ingredient."""

    columns: dict[str, Any]
    doses: tuple[tuple[FormulationIngredient, str], ...]


def read(fields: OrderFields, at: datetime) -> Requisition:
    """Return what the typed fields ask for. Refuses OrderRefused, with a sentence for each field."""
    typed = Typed(fields)
    today = timezone.localdate(at)
    formulation = _formulation(typed, today)
    columns = _patient(typed, today) | _measures(typed, today)
    columns["units"] = typed.count("units", formulation.most_units if formulation else MOST_UNITS)
    columns["ward"] = typed.text("ward", "The ward is missing. Write where it goes, or “stock”.")
    columns["due_at"] = typed.moment("due_at", at - LATE, at + AHEAD)
    doses = _whole(typed, formulation, columns) if formulation else ()
    if typed.by_field:
        raise OrderRefused(typed.by_field)
    return Requisition(columns, doses)


def _formulation(typed: Typed, today: date) -> Formulation | None:
    code = typed.text("formulation", "The preparation is missing. Choose one from the list.")
    formulation = formulation_in_force(code, today) if code else None
    if code and formulation is None:
        typed.fault("formulation", f"“{code}” cannot be ordered. Choose from the list.")
    return formulation


def _patient(typed: Typed, today: date) -> dict[str, Any]:
    """Return who it is for. A batch for stock names nobody; anybody else has two identifiers."""
    columns: dict[str, Any] = {
        name: typed.text(name) for name in ("patient_name", "patient_identifier", "allergies", "prescriber")
    }
    columns["born_on"] = typed.day("born_on", today - OLDEST, today)
    if _names_nobody(typed):
        columns["allergies"] = ""
        return columns
    typed.text("patient_name", "The patient’s name is missing. Only a batch may be for stock.")
    typed.text("allergies", "The allergies are missing. Write them, or “none known”.")
    typed.text("prescriber", "The prescriber is missing. Write who signed the order.")
    if not (typed.text("patient_identifier") or typed.text("born_on")):
        sentence = "A second identifier is missing. Write the patient’s number or the date of birth."
        typed.fault("patient_identifier", sentence)
    return columns


def _names_nobody(typed: Typed) -> bool:
    is_batch = str(typed.fields.get("units") or "").strip() not in {"", "1"}
    return is_batch and not any(
        typed.text(name) for name in ("patient_name", "patient_identifier", "born_on")
    )


def _measures(typed: Typed, today: date) -> dict[str, Any]:
    weight = typed.amount("body_weight", Kind.BODY_WEIGHT, WEIGHTS)
    height = typed.amount("height", Kind.LENGTH, HEIGHTS)
    weighed_on = typed.day("weighed_on", today - OLDEST, today)
    if typed.text("body_weight") and not typed.text("weighed_on"):
        typed.fault("weighed_on", "The date of weighing is missing. Write when the patient was weighed.")
    if typed.text("weighed_on") and not typed.text("body_weight"):
        typed.fault("body_weight", "The body weight is missing. Write it, or leave out the date of weighing.")
    return {"body_weight": _stored(weight), "height": _stored(height), "weighed_on": weighed_on}


def _stored(amount: Quantity | None) -> str:
    return quantities.store(amount) if amount is not None else ""


def _whole(
    typed: Typed, formulation: Formulation, columns: dict[str, Any]
) -> tuple[tuple[FormulationIngredient, str], ...]:
    """Check what depends on the preparation, and return the doses."""
    columns["formulation"] = formulation
    columns["route"] = typed.text("route", f"The route is missing. Write {_either(formulation.route_list)}.")
    if columns["route"] and columns["route"] not in formulation.route_list:
        typed.fault("route", f"It is not for “{columns['route']}”. Write {_either(formulation.route_list)}.")
    ingredients = list(formulation.ingredients.all())
    _refuse_unasked(typed, ingredients)
    doses = [(ingredient, _dose(typed, ingredient, columns)) for ingredient in ingredients]
    return tuple((ingredient, quantities.store(dose)) for ingredient, dose in doses if dose is not None)


def _either(words: tuple[str, ...]) -> str:
    return " or ".join(f"“{word}”" for word in words)


def _refuse_unasked(typed: Typed, ingredients: list[FormulationIngredient]) -> None:
    known = {ingredient.field for ingredient in ingredients}
    for name, text in typed.fields.get("doses", {}).items():
        if text.strip() and name not in known:
            typed.fault(name, "This preparation has no such ingredient. Leave this dose out.")


def _dose(typed: Typed, ingredient: FormulationIngredient, columns: dict[str, Any]) -> Quantity | None:
    """Return the ordered dose, if it can be read, is in the wanted unit and lies within the limits."""
    name, unit = ingredient.field, ingredient.dose_unit
    text = str(typed.fields.get("doses", {}).get(name) or "").strip()
    if not text:
        typed.fault(name, f"The dose of {ingredient.substance.written} is missing. Write it in {unit}.")
        return None
    dose = typed.quantity(name, text, Kind.DOSE)
    if dose is None:
        return None
    try:
        number = quantities.number_in(dose, unit)
        _check_limits(ingredient, quantities.of(number, unit), columns)
    except Refusal as refusal:
        typed.fault(_field_of(refusal, ingredient), refusal.sentence)
        return None
    return dose


def _field_of(refusal: Refusal, ingredient: FormulationIngredient) -> str:
    """Return the field where a refusal is shown: a missing weight or height at its own."""
    fact = refusal.facts.get("fact") if isinstance(refusal, MissingFact) else None
    return {"The body weight": "body_weight", "The height": "height"}.get(fact or "", ingredient.field)


def _refuse_outside(written: str, dose: Quantity, least: str, most: str) -> None:
    """Refuse a dose as ordered, per kg too: `check_limits` of reckoning compares contents only."""
    lowest, highest = quantities.read(least), quantities.read(most)
    if dose > highest:
        limit = quantities.write(highest)
        raise OverDoseLimit(substance=written, dose=quantities.write(dose), limit=limit)
    if dose < lowest:
        limit = quantities.write(lowest)
        raise UnderDoseLimit(substance=written, dose=quantities.write(dose), limit=limit)


def _check_limits(ingredient: FormulationIngredient, dose: Quantity, columns: dict[str, Any]) -> None:
    """Refuse a dose outside its limits: as ordered, and as what ends up in one unit."""
    written = ingredient.substance.written
    _refuse_outside(written, dose, ingredient.least_dose, ingredient.most_dose)
    weight, height = amount_or_none(columns["body_weight"]), amount_or_none(columns["height"])
    content = dosing.required_content(dose, weight, height).amount
    least, most = amount_or_none(ingredient.least_amount), amount_or_none(ingredient.most_amount)
    dosing.check_limits(written, content, least, most)
