"""Orders with limits: what is asked of each, and what is told of it. Numbers to be recomputed by a reader."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from prepared_orders import (
    POTASSIUM,
    VANCOMYCIN,
    bag,
    ingredient,
    order,
)

from compounding.reckoning.incompatibility import table_of
from compounding.reckoning.quantities import Quantity, of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.request import Request, Vehicle
from compounding.reckoning.worksheet import Worksheet

PUBLISHED = Path(__file__).parents[2] / "shared" / "published" / "incompatible_pairs.json"
DOCUMENT: dict[str, Any] = json.loads(PUBLISHED.read_text())
PAIRS = table_of(DOCUMENT["rows"], DOCUMENT["groups"])
SALINE = "sodium chloride 0.9 %"


def potassium(dose: str = "40", most_rate: Quantity | None = None, **more: Any) -> Request:
    part = replace(
        ingredient(POTASSIUM, of(dose, "mEq"), most_rate=most_rate, **more.pop("limits", {})),
        substance="potassium chloride",
        written="potassium chloride",
    )
    return order(part, **{"vehicle": bag(1000, 50), **more})


def with_limits(dose: str = "1250", **limits: Any) -> Request:
    """Vancomycin in 250 mL with 25 mL overfill: 1,250 mg is 25 mL, 10 % of the label and so added only."""
    return order(ingredient(VANCOMYCIN, of(dose, "mg"), **limits), vehicle=bag(250, 25))


def cautions(request: Request) -> list[tuple[str, str]]:
    return [(one.code, one.text) for one in reckon(request).cautions]


def about(sheet: Worksheet, what: str) -> list[str]:
    return [line.text for line in sheet.working if line.about.endswith(what)]


def named(name: str, volume: int = 250) -> Vehicle:
    return replace(bag(volume, 25), name=f"{name} {volume} mL bag", solution=name)
