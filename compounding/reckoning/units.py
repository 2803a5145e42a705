"""The units an amount may be written in, each of one kind; everything else is unknown.

The registry is loaded once from units.txt. Its own parser sees only the names in this file: every code that
people, files or stored worksheets may use is built here, so that `kilounit` or `5 * mg` cannot be read.
"""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pint
from pint.util import UnitsContainer

if TYPE_CHECKING:
    from pint.facets.plain import PlainQuantity, PlainUnit

    Quantity = PlainQuantity[Decimal]
    Unit = PlainUnit

registry: pint.UnitRegistry[Any] = pint.UnitRegistry(
    Path(__file__).with_name("units.txt"), non_int_type=Decimal, cache_folder=None
)
if not TYPE_CHECKING:
    Quantity = registry.Quantity
    Unit = registry.Unit


class Kind(StrEnum):
    """What an amount measures. The value is how a sentence names it."""

    MASS = "a mass"
    VOLUME = "a volume"
    ACTIVITY = "an amount in units of activity"
    EQUIVALENT = "an amount in milliequivalents"
    AMOUNT = "an amount in millimoles"
    OSMOLE = "an amount in milliosmoles"
    TIME = "a time"
    BODY_WEIGHT = "a body weight"
    AREA = "a body surface"
    LENGTH = "a height"
    DROP = "a count of drops"
    ENERGY = "an energy"
    STRENGTH = "a strength"
    DOSE_BY_WEIGHT = "a dose per kg of body weight"
    DOSE_BY_AREA = "a dose per square metre"
    RATE = "a volume per time"
    DOSE_RATE = "a dose per time"
    DROP_RATE = "drops per time"
    DROP_FACTOR = "drops per volume"
    FACTOR = "a factor between two kinds"
    CONTENT = "a content (a mass, units, mEq, mmol)"
    DOSE = "a dose (a content, or a content per kg or per square metre)"


CONTENTS = (Kind.MASS, Kind.ACTIVITY, Kind.EQUIVALENT, Kind.AMOUNT, Kind.OSMOLE, Kind.ENERGY)
WIDER: dict[Kind, tuple[Kind, ...]] = {
    Kind.CONTENT: CONTENTS,
    Kind.DOSE: (*CONTENTS, Kind.DOSE_BY_WEIGHT, Kind.DOSE_BY_AREA),
}
EXAMPLES: dict[Kind, str] = {
    Kind.MASS: "500 mg",
    Kind.VOLUME: "2.5 mL",
    Kind.ACTIVITY: "5000 units",
    Kind.EQUIVALENT: "20 mEq",
    Kind.AMOUNT: "15 mmol",
    Kind.OSMOLE: "300 mOsmol",
    Kind.TIME: "30 min",
    Kind.BODY_WEIGHT: "70 kg",
    Kind.AREA: "1.8 m2",
    Kind.LENGTH: "170 cm",
    Kind.DROP: "20 gtt",
    Kind.ENERGY: "500 kcal",
    Kind.STRENGTH: "50 mg/mL",
    Kind.DOSE_BY_WEIGHT: "15 mg/kg",
    Kind.DOSE_BY_AREA: "75 mg/m2",
    Kind.RATE: "100 mL/h",
    Kind.DOSE_RATE: "5 mcg/kg/min",
    Kind.DROP_RATE: "31 gtt/min",
    Kind.DROP_FACTOR: "20 gtt/mL",
    Kind.FACTOR: "58.44 mg/mmol",
    Kind.CONTENT: "500 mg",
    Kind.DOSE: "500 mg",
}

# code as written -> name in units.txt
_ATOMS: dict[Kind, dict[str, str]] = {
    Kind.MASS: {"mg": "mg", "g": "g", "mcg": "mcg", "ng": "ng"},
    Kind.VOLUME: {"mL": "mL", "L": "L", "dL": "dL"},
    Kind.ACTIVITY: {"units": "unit", "unit": "unit"},
    Kind.EQUIVALENT: {"mEq": "mEq"},
    Kind.AMOUNT: {"mmol": "mmol", "mol": "mol"},
    Kind.OSMOLE: {"mOsmol": "mOsmol", "mOsm": "mOsmol"},
    Kind.TIME: {
        "h": "h", "hour": "h", "hours": "h", "min": "min", "minute": "min", "minutes": "min",
        "s": "s", "second": "s", "seconds": "s", "day": "day", "days": "day",
    },
    Kind.BODY_WEIGHT: {"kg": "kg_body"},
    Kind.AREA: {"m2": "m2_body"},
    Kind.LENGTH: {"cm": "cm", "m": "m", "in": "inch"},
    Kind.DROP: {"gtt": "drop", "drops": "drop", "drop": "drop"},
    Kind.ENERGY: {"kcal": "kcal"},
}  # fmt: skip

_PAIRS: dict[Kind, tuple[tuple[Kind, ...], ...]] = {
    Kind.STRENGTH: tuple((content, Kind.VOLUME) for content in CONTENTS),
    Kind.DOSE_BY_WEIGHT: tuple((content, Kind.BODY_WEIGHT) for content in (*CONTENTS, Kind.VOLUME)),
    Kind.DOSE_BY_AREA: tuple((content, Kind.AREA) for content in (*CONTENTS, Kind.VOLUME)),
    Kind.RATE: (
        (Kind.VOLUME, Kind.TIME),
        (Kind.VOLUME, Kind.BODY_WEIGHT, Kind.TIME),
        (Kind.VOLUME, Kind.AREA, Kind.TIME),
    ),
    Kind.DOSE_RATE: tuple(
        (content, *middle, Kind.TIME)
        for content, middle in product(CONTENTS, ((), (Kind.BODY_WEIGHT,), (Kind.AREA,)))
    ),
    Kind.DROP_RATE: ((Kind.DROP, Kind.TIME),),
    Kind.DROP_FACTOR: ((Kind.DROP, Kind.VOLUME),),
    Kind.FACTOR: (
        *((top, below) for top, below in product(CONTENTS, CONTENTS) if top is not below),
        (Kind.VOLUME, Kind.MASS),
    ),
}


def _built(parts: tuple[str, ...]) -> Unit:
    """Return the unit of these names: the first over all others."""
    powers = {parts[0]: 1}
    for below in parts[1:]:
        powers[below] = -1
    return registry.Unit(UnitsContainer(powers, non_int_type=Decimal))


def _codes() -> dict[str, tuple[Unit, Kind]]:
    """Return every code that may be written, with its unit and kind; the first of a unit is the one
    written.
    """
    codes = {code: (_built((name,)), kind) for kind, names in _ATOMS.items() for code, name in names.items()}
    codes["%"] = (_built(("percent",)), Kind.STRENGTH)
    for kind, shapes in _PAIRS.items():
        for shape in shapes:
            for parts in product(*(_ATOMS[atom].items() for atom in shape)):
                code = "/".join(written for written, _ in parts)
                codes[code] = (_built(tuple(name for _, name in parts)), kind)
    return codes


CODES = _codes()
_CODE_OF = {unit._units: code for code, (unit, _) in reversed(CODES.items())}
_KIND_OF = {unit._units: kind for unit, kind in reversed(CODES.values())}


def unit_of(code: str) -> Unit:
    """Return the unit of a code from the list; KeyError for any other (a fault of the program)."""
    return CODES[code][0]


def is_in(amount: Quantity, unit: Unit) -> bool:
    """Tell whether an amount is in exactly this unit. (`amount.units` would build a new object each time.)"""
    return amount._units == unit._units


def code_of(amount: Quantity) -> str:
    """Return the code of an amount's unit; KeyError for a unit that no code is for (a fault of the
    program).
    """
    return _CODE_OF[amount._units]


def kind_of(amount: Quantity) -> Kind:
    """Return what an amount measures; KeyError for what has no name here (a fault of the program)."""
    return _KIND_OF[amount._units]
