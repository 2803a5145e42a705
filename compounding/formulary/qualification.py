"""What a site runs before it trusts an installation: published answers, published tables, its own formulary.

Each formulation in force is made on paper at its least and at its most dose: reckoned, proved, carried to
JSON and back, labelled, and the label read for error-prone writing. Nothing of it is kept.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from pathlib import Path

from django.utils import timezone

from compounding.formulary import PROGRAM_VERSION, paper_orders, published_tables
from compounding.formulary.models import Formulation, FormulationIngredient
from compounding.formulary.models.amounts import amount_or_none
from compounding.formulary.orders import orderable
from compounding.formulary.policy import current_policy
from compounding.formulary.published_tables import EXAMPLES, TABLES, Result
from compounding.formulary.typed import OrderFields
from compounding.reckoning import labelling, strengths
from compounding.reckoning.labelling import LabelFacts
from compounding.reckoning.quantities import number_in, of, read, store, write
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.worksheet import Worksheet, from_plain, to_plain

FORMULARY = "Formulary"
PARTS = (EXAMPLES, *(part for part, _file, _said in TABLES), FORMULARY)
ENDS = ("least", "most")
# where a formulation bounds the dose per kg but not the content: an adult, no source
USUAL_WEIGHT, USUAL_HEIGHT = "70 kg", "170 cm"
TENTH = Decimal("0.1")


@dataclass(frozen=True)
class Part:
    """One part of the report in numbers."""

    name: str
    count: int
    failed: int


@dataclass(frozen=True)
class Report:
    """Everything that was run, under which program and policy."""

    at: datetime
    program_version: str
    policy_version: int
    results: tuple[Result, ...]

    @property
    def failures(self) -> tuple[Result, ...]:
        """Return what did not come out as it should."""
        return tuple(result for result in self.results if not result.passed)

    @property
    def has_passed(self) -> bool:
        """Tell whether everything came out as it should, and the formulary is not empty."""
        return not self.failures and any(result.part == FORMULARY for result in self.results)

    @property
    def parts(self) -> tuple[Part, ...]:
        """Return each part with how many were run and how many failed."""
        by_part = {name: [one for one in self.results if one.part == name] for name in PARTS}
        return tuple(
            Part(name, len(ran), sum(not one.passed for one in ran)) for name, ran in by_part.items()
        )

    @property
    def seen(self) -> tuple[int, int]:
        """Return how many worked examples have an answer that was seen, and how many of those agree."""
        seen = [one for one in self.results if one.part == EXAMPLES and one.mark == "answer seen"]
        return len(seen), sum(one.passed and not one.remark for one in seen)

    @property
    def known(self) -> tuple[Result, ...]:
        """Return the examples whose source is known to be off."""
        return tuple(one for one in self.results if one.remark and one.passed)


def report(folder: Path, at: datetime) -> Report:
    """Run everything. `folder` holds the published files; one that is missing is a fault of the program."""
    results = (
        *published_tables.examples(folder),
        *published_tables.tables(folder),
        *_formulary(at),
    )
    return Report(at, PROGRAM_VERSION, current_policy().version, results)


def _formulary(at: datetime) -> Iterator[Result]:
    for formulation in orderable(timezone.localdate(at)):
        for end in ENDS:
            yield _made(formulation, end, at)


def _made(formulation: Formulation, end: str, at: datetime) -> Result:
    """Make a formulation on paper at one end of its doses, as large a batch as it allows at the most."""
    ingredients = list(formulation.ingredients.select_related("substance"))
    doses = {one.field: getattr(one, f"{end}_dose") for one in ingredients}
    units = formulation.most_units if end == "most" else 1
    body = _body(ingredients, end)
    asked = ", ".join(f"{one.substance.written} {write(read(doses[one.field]))}" for one in ingredients)
    told = "".join(f", {text}" for text in (*body.values(), f"{units} units" if units > 1 else "") if text)
    name = f"{formulation.code} version {formulation.version}, {end} dose"
    try:
        fields = OrderFields(doses=doses, units=str(units), **body)  # type: ignore[typeddict-item]
        faults = _faults(paper_orders.by_formulation(formulation, fields, at), formulation)
    except Refusal as refusal:
        faults = refusal.sentence
    found = faults or "proved, stored and labelled without a fault"
    return Result(FORMULARY, name, asked + told, found, not faults, "site")


def _faults(worksheet: Worksheet, formulation: Formulation) -> str:
    """Return what is wrong with a worksheet that was built, nothing where it is sound."""
    if from_plain(json.loads(json.dumps(to_plain(worksheet)))) != worksheet:
        return "It is not the same after it was stored. Report it."
    facts = LabelFacts(
        patient="",
        identifiers=(),
        route=formulation.route_list[0],
        rate=formulation.rate,
        code="QUALIFIED",
        serial=1,
        of=worksheet.units,
    )
    faults = labelling.label_lines(worksheet, facts).faults()
    return " ".join(f"Label, {one.place}: {one.fault}. Write {one.better}." for one in faults)


def _body(ingredients: list[FormulationIngredient], end: str) -> dict[str, str]:
    """Return the patient who takes a formulation to one end of its contents, where a dose asks for one."""
    by_weight = [one for one in ingredients if one.is_per_weight]
    by_surface = any(one.is_per_surface for one in ingredients)
    weights = [weight for one in by_weight if (weight := _weight(one, end)) is not None]
    body: dict[str, str] = {"height": USUAL_HEIGHT} if by_surface else {}
    if weights:
        chosen = max(weights) if end == "least" else min(weights)
        body["body_weight"] = store(of(chosen, "kg"))
    elif by_weight or by_surface:
        body["body_weight"] = USUAL_WEIGHT
    return body


def _weight(ingredient: FormulationIngredient, end: str) -> Decimal | None:
    """Return the weight in kg at which that end of the dose gives that end of the content, within it."""
    content = amount_or_none(getattr(ingredient, f"{end}_amount"))
    if content is None:
        return None
    unit = strengths.base_of(content)
    dose = number_in(read(getattr(ingredient, f"{end}_dose")), f"{unit}/kg")
    exact = number_in(content, unit) / dose
    return exact.quantize(TENTH, ROUND_CEILING if end == "least" else ROUND_FLOOR)
