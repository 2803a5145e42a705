"""The orders the tests reckon: plain functions with overrides, nothing random, numbers a reader can
recompute.
"""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from compounding.reckoning.dating import DatingFacts
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import Quantity, of, write
from compounding.reckoning.request import (
    OrderedIngredient,
    Reconstitution,
    Request,
    SourceProduct,
    Vehicle,
)
from compounding.reckoning.worksheet import ContainerKind, FinalContainer, Worksheet

EIGHT = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
FACTS = DatingFacts(2, "aseptic", False, True, "fridge", Decimal(48), "demo label", None, ())


def solution(name: str, content: Quantity, volume: str, strength: Quantity, **more: Any) -> SourceProduct:
    kind = more.pop("kind", ContainerKind.SOLUTION_VIAL)
    return SourceProduct(name, name, kind, content, of(volume, "mL"), strength, of(volume, "mL"), **more)


def powder(name: str, content: str, diluent: str, strength: str, withdrawable: str) -> SourceProduct:
    water = Reconstitution(
        "water", "sterile water", ContainerKind.SOLUTION_VIAL, of(20, "mL"), of(diluent, "mL"),
        of(strength, "mg/mL"), "swirl", 60,
    )  # fmt: skip
    return SourceProduct(
        name, name, ContainerKind.POWDER_VIAL, of(content, "g"), None, of(strength, "mg/mL"),
        of(withdrawable, "mL"), water,
    )  # fmt: skip


# strengths and diluent volumes as US labels print them (standards.md section 10)
VANCOMYCIN = powder("vancomycin 1 g", "1", "20", "50", "20")
CEFAZOLIN = powder("cefazolin 1 g", "1", "2.5", "330", "3")
ONDANSETRON = solution("ondansetron 4 mg", of(4, "mg"), "2", of(2, "mg/mL"))
ONDANSETRON_MULTI = solution("ondansetron 40 mg", of(40, "mg"), "20", of(2, "mg/mL"), multi_dose=True)
AMINOPHYLLINE = solution(
    "aminophylline 250 mg", of(250, "mg"), "10", of(25, "mg/mL"), kind=ContainerKind.AMPOULE
)
POTASSIUM = solution("potassium chloride 20 mEq", of(20, "mEq"), "10", of(2, "mEq/mL"))
MAGNESIUM = solution("magnesium sulfate 5 g", of(5, "g"), "10", of(500, "mg/mL"))
HEPARIN = solution("heparin 10,000 units", of(10000, "units"), "1", of(10000, "units/mL"))
ACYCLOVIR = solution("acyclovir 500 mg", of(500, "mg"), "10", of(50, "mg/mL"))
KETOROLAC = solution("ketorolac 30 mg", of(30, "mg"), "1", of(30, "mg/mL"))
FLUOROURACIL = solution("fluorouracil 1 g", of(1, "g"), "20", of(50, "mg/mL"))
MORPHINE = solution("morphine 10 mg", of(10, "mg"), "1", of(10, "mg/mL"))


def bag(volume: int, overfill: int = 0, capacity: int | None = None) -> Vehicle:
    holds = capacity or volume * 2
    return Vehicle("saline", "sodium chloride 0.9%", of(volume, "mL"), of(overfill, "mL"), of(holds, "mL"))


def ingredient(product: SourceProduct, dose: Quantity, **more: Any) -> OrderedIngredient:
    name = product.name.split(" ")[0]
    return OrderedIngredient(name, name, dose, product, **more)


def order(*ingredients: OrderedIngredient, vehicle: Vehicle | None = None, **more: Any) -> Request:
    asked: dict[str, Any] = {
        "formulation": "demo", "formulation_version": 1, "title": "demo", "units": 1,
        "final_container": FinalContainer.BAG, "ingredients": ingredients, "vehicle": vehicle,
        "method": "policy", "dating": FACTS, "storage": "fridge", "mixing": "invert",
        "started_at": EIGHT, "policy": Policy(), "program_version": "test",
    }  # fmt: skip
    return Request(**{**asked, **more})


def in_syringes(*ingredients: OrderedIngredient, **more: Any) -> Request:
    return order(*ingredients, final_container=FinalContainer.SYRINGE, method="add only", **more)


def vancomycin(dose: str = "1250", **more: Any) -> Request:
    return order(ingredient(VANCOMYCIN, of(dose, "mg")), **{"vehicle": bag(250, 25), **more})


def stricter(**limits: Any) -> Policy:
    return replace(Policy(), **limits)


def draws(sheet: Worksheet) -> list[str]:
    """Return each draw as one line: purpose, target, syringe, sources, destination."""
    purposes = {transfer.number: transfer.purpose for transfer in sheet.transfers}
    return [
        f"{purposes[draw.transfer]} {write(draw.target)} in {write(draw.syringe.size)}: "
        + " + ".join(f"{one.container} {write(one.volume)}" for one in draw.sources)
        + f" -> {draw.destination}"
        for draw in sheet.draws
    ]
