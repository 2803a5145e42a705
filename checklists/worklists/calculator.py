"""The desk's calculators as data: name, fields, what answers. Writes nothing; what was typed stays typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.utils.translation import gettext_lazy as _

from checklists.worklists import calculations
from checklists.worklists.calculations import Answer
from checklists.worklists.calculator_fields import (
    Choices,
    Field,
    Words,
    amount,
    amount_if_any,
    choice,
    moment,
    names,
)
from compounding.reckoning.quantities import Kind
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.substances import SUBSTANCES

LONGEST = 400


@dataclass(frozen=True)
class Calculator:
    """One calculator: its address, its names, its fields and the function that answers."""

    slug: str
    title: Words
    about: Words
    fields: tuple[Field, ...]
    answer: Callable[[Mapping[str, Any]], Answer]


@dataclass(frozen=True)
class CalculatorScreen:
    """All calculators, and the one that is open with what was typed and what it comes to."""

    every: tuple[Calculator, ...]
    here: Calculator
    answer: Answer | None
    refusal: str


def screen(slug: str, typed: Mapping[str, str]) -> CalculatorScreen:
    """Return the page: an empty form, faults at their fields, or the answer with its working."""
    here = next((one for one in CALCULATORS if one.slug == slug), CALCULATORS[0])
    if not any(field.name in typed for field in here.fields):
        return CalculatorScreen(CALCULATORS, _filled(here, {}, {}), None, "")
    faults: dict[str, str] = {}
    read = {field.name: _read(field, typed, faults) for field in here.fields}
    shown = _filled(here, typed, faults)
    if faults:
        return CalculatorScreen(CALCULATORS, shown, None, "")
    try:
        return CalculatorScreen(CALCULATORS, shown, here.answer(read), "")
    except Refusal as refusal:
        return CalculatorScreen(CALCULATORS, shown, None, refusal.sentence)


def _read(field: Field, typed: Mapping[str, str], faults: dict[str, str]) -> Any:
    try:
        return field.read(typed.get(field.name, ""))
    except Refusal as refusal:
        faults[field.name] = refusal.sentence
        return None


def _filled(one: Calculator, typed: Mapping[str, str], faults: Mapping[str, str]) -> Calculator:
    fields = tuple(
        replace(field, typed=typed.get(field.name, "")[:LONGEST], fault=faults.get(field.name, ""))
        for field in one.fields
    )
    return replace(one, fields=fields)


YES_OR_NO: Choices = (("no", _("no")), ("yes", _("yes")))
ION_NAMES = sorted({ion.name for one in SUBSTANCES.values() for ion in one.ions})
IONS: Choices = (("", _("not in mEq")), *names(ION_NAMES))
WEIGHT_HINT = _("Only per kg or per square metre: 62 kg.")
SET_HINT = _("Only for gravity: 20 gtt/mL.")
DROP_FIELD = amount_if_any("set", _("Drops in a mL of the set"), Kind.DROP_FACTOR, SET_HINT)

CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "dose",
        _("Dose to volume"),
        _("Which volume of a solution holds a dose."),
        (
            amount("dose", _("Dose"), Kind.DOSE, _("500 mg, 20 mEq, 5000 units, 15 mg/kg or 75 mg/m2.")),
            amount("strength", _("Strength"), Kind.STRENGTH, _("50 mg/mL, 2 mEq/mL, 1 g/10 mL or 0.9 %.")),
            amount_if_any("weight", _("Body weight"), Kind.BODY_WEIGHT, WEIGHT_HINT),
            amount_if_any("height", _("Height"), Kind.LENGTH, _("Only per square metre: 171 cm.")),
        ),
        calculations.dose_to_volume,
    ),
    Calculator(
        "dilution",
        _("Dilution"),
        _("How much stock and diluent make a total of a weaker strength: C₁V₁ = C₂V₂."),
        (
            amount("stock", _("Strength of the stock"), Kind.STRENGTH),
            amount("wanted", _("Strength wanted"), Kind.STRENGTH, "10 mg/mL"),
            amount("total", _("Total volume"), Kind.VOLUME, "50 mL"),
        ),
        calculations.dilute,
    ),
    Calculator(
        "alligation",
        _("Alligation"),
        _("How much of a stronger and of a weaker solution make a strength between."),
        (
            amount("stronger", _("Stronger"), Kind.STRENGTH, "10 %"),
            amount("weaker", _("Weaker"), Kind.STRENGTH, "5 %"),
            amount("wanted", _("Strength wanted"), Kind.STRENGTH, "8.5 %"),
            amount("total", _("Total volume"), Kind.VOLUME, "150 mL"),
        ),
        calculations.alligate,
    ),
    Calculator(
        "equivalents",
        _("mEq, mmol and mg"),
        _("An amount of a salt as mass, mmol, mEq of its ions and mOsmol."),
        (
            choice(
                "substance",
                _("Substance"),
                names(list(SUBSTANCES)),
                _("As it is weighed: a hydrate is heavier."),
            ),
            amount("amount", _("Amount"), Kind.CONTENT, _("2 g, 20 mmol or 20 mEq.")),
            choice("ion", _("mEq of which ion"), IONS, _("Only where the amount is in mEq.")),
        ),
        calculations.equivalents,
    ),
    Calculator(
        "rate",
        _("Rate of a volume"),
        _("How fast a volume runs: mL/h, and drops a minute."),
        (
            amount("volume", _("Volume"), Kind.VOLUME, _("All that runs in: 500 mL.")),
            amount("time", _("Time"), Kind.TIME, "4 h"),
            DROP_FIELD,
        ),
        calculations.rate,
    ),
    Calculator(
        "dose-rate",
        _("Rate of a dose"),
        _("How fast a solution runs to give a dose a minute or an hour."),
        (
            amount("order", _("Dose rate"), Kind.DOSE_RATE, _("5 mcg/kg/min or 1000 units/h.")),
            amount("strength", _("Strength in the bag"), Kind.STRENGTH, "200 mg/250 mL"),
            amount_if_any("weight", _("Body weight"), Kind.BODY_WEIGHT, _("Only per kg: 62 kg.")),
            DROP_FIELD,
        ),
        calculations.rate_for_dose,
    ),
    Calculator(
        "beyond-use",
        _("Beyond-use date"),
        _("The earliest of the table’s limit, stability and an own limit."),
        (
            choice("category", _("Category"), names(["1", "2", "3"])),
            choice(
                "method",
                _("How it is made sterile"),
                (("aseptic", _("aseptic")), ("terminal", _("sterilised at the end"))),
            ),
            choice("tested", _("Sterility test passed"), YES_OR_NO),
            choice("only_sterile", _("Only sterile starting parts"), YES_OR_NO),
            choice(
                "storage",
                _("Kept at"),
                (("room", _("20 to 25 °C")), ("fridge", _("2 to 8 °C")), ("freezer", _("-25 to -10 °C"))),
            ),
            Field("started_at", _("Preparation starts"), _("Empty: now."), moment, "datetime-local"),
            amount_if_any(
                "stability", _("Stability"), Kind.TIME, _("48 h or 14 days; empty where none is known.")
            ),
            Field(
                "stability_source",
                _("Source of the stability"),
                _("Where it can be looked up."),
                lambda text: text.strip()[:LONGEST],
            ),
            amount_if_any("own_limit", _("Own limit"), Kind.TIME, _("24 h; empty where there is none.")),
        ),
        calculations.beyond_use,
    ),
    Calculator(
        "syringe",
        _("Choice of syringe"),
        _("Which syringes of local stock draw a volume, and how far they may be off."),
        (
            amount("volume", _("Volume"), Kind.VOLUME),
            choice("hazardous", _("Hazardous drug"), YES_OR_NO),
            amount_if_any(
                "strength",
                _("Strength of the stock"),
                Kind.STRENGTH,
                _("Only to find an intermediate dilution: 10 mg/mL."),
            ),
        ),
        calculations.syringes,
    ),
)
