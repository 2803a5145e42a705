"""Filling empty tables from the files of `shared/formulary`, and entering the orders of a scenario.

Dates in these files are days, due times are minutes, counted from the moment of loading; a scenario may be
played any day.
"""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar, cast

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from compounding.formulary.intake import enter_order
from compounding.formulary.models import (
    Formulation,
    FormulationIngredient,
    FormulationStep,
    Lot,
    Order,
    Product,
    Substance,
)
from compounding.formulary.orders import formulation_in_force
from compounding.formulary.refusals import FileRefused, TablesNotEmpty
from compounding.formulary.typed import OrderFields

Row = dict[str, Any]
Saved = TypeVar("Saved", bound=models.Model)


def load_formulary(folder: Path, on: date | None = None) -> None:
    """Fill the empty tables from the files of a folder, counting dates from a day (today).

    Refuses TablesNotEmpty, and FileRefused for a row that cannot be taken; then nothing is loaded.
    """
    day = on or timezone.localdate()
    with transaction.atomic():
        if Product.objects.exists():
            raise TablesNotEmpty(count=str(Product.objects.count()))
        substances = {row["name"]: _substance(row) for row in _rows(folder, "substances")}
        products = _products(_rows(folder, "products"), substances)
        for row in _rows(folder, "lots"):
            _lot(row, products, day)
        for row in _rows(folder, "formulations"):
            _formulation(row, substances, products, day)


def load_orders(file: Path, *, at: datetime, by: str) -> list[Order]:
    """Enter the orders of a scenario through intake, due times counted from `at`. Refuses OrderRefused."""
    rows = json.loads(file.read_text(encoding="utf-8"))["orders"]
    return [enter_order(by=by, at=at, **_fields(row, at)) for row in rows]


def _rows(folder: Path, name: str) -> list[Row]:
    rows: list[Row] = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))[name]
    return rows


def _saved(row: Saved, name: str) -> Saved:
    """Save a row that is valid as a whole; say which one is not, and why."""
    try:
        row.full_clean(validate_unique=False, validate_constraints=False)
        with transaction.atomic():
            row.save()
    except ValidationError as error:
        raise FileRefused(row=name, why=" ".join(error.messages)) from error
    except IntegrityError as error:  # the database says that, not why
        raise FileRefused(row=name, why=_why(row)) from error
    return row


def _why(row: models.Model) -> str:
    """Return in words what the database refused."""
    try:
        row.full_clean()
    except ValidationError as error:
        return " ".join(error.messages)
    return "It does not fit the rows before it."


def _without(row: Row, *names: str) -> Row:
    return {name: value for name, value in row.items() if name not in names}


def _substance(row: Row) -> Substance:
    return _saved(Substance(**_without(row, "source")), row["name"])


def _products(rows: list[Row], substances: dict[str, Substance]) -> dict[str, Product]:
    """Return the products by key; a powder's diluent stands before it in the file."""
    products: dict[str, Product] = {}
    for row in rows:
        columns = _without(row, "key", "substance", "reconstitution")
        if row.get("reconstitution"):
            columns |= {f"reconstitution_{name}": value for name, value in row["reconstitution"].items()}
            columns["reconstitution_diluent"] = products[row["reconstitution"]["diluent"]]
        substance = substances[row["substance"]] if row["substance"] else None
        products[row["key"]] = _saved(Product(substance=substance, **columns), row["name"])
    return products


def _lot(row: Row, products: dict[str, Product], day: date) -> None:
    lot = Lot(
        product=products[row["product"]],
        number=row["number"],
        state=row["state"],
        expires_on=day + timedelta(days=row["expires_in_days"]),
        received_on=day - timedelta(days=row["received_days_ago"]),
    )
    _saved(lot, f"Lot {row['number']}")


def _formulation(row: Row, substances: dict[str, Substance], products: dict[str, Product], day: date) -> None:
    columns = _without(row, "ingredients", "own_steps", "diluent", "effective_days_ago")
    formulation = Formulation(
        diluent=products[row["diluent"]] if row["diluent"] else None,
        effective_from=day - timedelta(days=row["effective_days_ago"]),
        **columns,
    )
    _saved(formulation, row["title"])
    for position, part in enumerate(row["ingredients"], start=1):
        ingredient = FormulationIngredient(
            formulation=formulation,
            position=position,
            substance=substances[part["substance"]],
            **_without(part, "substance", "allowed_products"),
        )
        _saved(ingredient, f"{part['substance']} in {row['title']}")
        ingredient.allowed_products.set(products[key] for key in part["allowed_products"])
    for position, part in enumerate(row.get("own_steps", ()), start=1):
        _saved(FormulationStep(formulation=formulation, position=position, **part), part["text"])


def _fields(row: Row, at: datetime) -> OrderFields:
    """Return a scenario's order as it would be typed: doses by ingredient, times in the site's zone."""
    today = timezone.localdate(at)
    formulation = formulation_in_force(row["formulation"], today)
    if formulation is None:
        raise FileRefused(row=row["formulation"], why="No such formulation may be ordered.")
    due_at = timezone.localtime(at + timedelta(minutes=row["due_in_minutes"]))
    places = {part.substance.name: part.field for part in formulation.ingredients.all()}
    typed = _without(row, "due_in_minutes", "weighed_days_ago", "doses", "about")
    if "weighed_days_ago" in row:
        typed["weighed_on"] = (today - timedelta(days=row["weighed_days_ago"])).isoformat()
    typed["due_at"] = due_at.strftime("%Y-%m-%dT%H:%M")
    typed["doses"] = {places[name]: dose for name, dose in row["doses"].items()}
    return cast(OrderFields, typed)
