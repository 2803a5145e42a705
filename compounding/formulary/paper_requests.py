"""An order given in full, its ingredients with their products: facts of a file become reckoning's request.

No table is asked; the limits are the program's defaults.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from compounding.formulary import PROGRAM_VERSION
from compounding.formulary.models.formulations import listed
from compounding.formulary.pairs import reviewed_pairs
from compounding.formulary.paper_facts import Facts
from compounding.reckoning import quantities
from compounding.reckoning.dating import DatingFacts
from compounding.reckoning.mixture import MOST_UNITS
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import Kind
from compounding.reckoning.request import (
    NOTHING,
    Method,
    OrderedIngredient,
    Reconstitution,
    Request,
    SourceProduct,
    Vehicle,
)
from compounding.reckoning.use_limits import STORAGES
from compounding.reckoning.worksheet import ContainerKind, FinalContainer

MOST_INGREDIENTS = 30
MOST_COMPONENTS = 50
MOST_SECONDS = 3600
MOST_RUN_MINUTES = 14_400
WAYS = ("swirl", "shake")


def request_of(facts: Facts, now: datetime) -> Request:
    """Return the request of an order that gives everything itself. Refuses PaperOrderRefused."""
    empty = facts.part_if_given("empty_bag")
    diluent = facts.part_if_given("diluent")
    ingredients = facts.parts("ingredients", "ingredient", MOST_INGREDIENTS)
    storage = facts.word("storage", tuple(STORAGES))
    request = Request(
        formulation="given in full",
        formulation_version=1,
        title=facts.text("title"),
        final_container=facts.word("final_container", tuple(FinalContainer)),
        units=facts.count("units", MOST_UNITS, 1),
        ingredients=tuple(_ingredient(one) for one in ingredients),
        vehicle=_vehicle(diluent) if diluent else None,
        method=facts.word("method", tuple(Method), Method.POLICY),
        dating=_dating(facts.part("dating"), storage),
        storage=storage,
        mixing=facts.text("mixing", "Mix, and look for particles, colour and leaks."),
        started_at=facts.moment("started_at", now),
        policy=Policy(),
        program_version=PROGRAM_VERSION,
        final_volume=facts.amount_if_given("final_volume", Kind.VOLUME),
        body_weight=facts.amount_if_given("body_weight", Kind.BODY_WEIGHT),
        height=facts.amount_if_given("height", Kind.LENGTH),
        empty_product=empty.text("name") if empty else "",
        empty_name=empty.text("name") if empty else "empty bag",
        empty_capacity=empty.amount("capacity", Kind.VOLUME) if empty else None,
        run_minutes=_minutes(facts),
        peripheral=facts.flag("peripheral", False),
        pairs=reviewed_pairs(),
    )
    _finish(facts, empty)
    facts.settle()
    return request


def _finish(*parts: Facts | None) -> None:
    for part in parts:
        if part is not None:
            part.done()


def _ingredient(facts: Facts) -> OrderedIngredient:
    name = facts.text("substance")
    ingredient = OrderedIngredient(
        substance=name,
        written=facts.text("written", name),
        dose=facts.amount("dose", Kind.DOSE),
        product=_product(facts.part("product")),
        hazardous=facts.flag("hazardous", False),
        high_alert=facts.flag("high_alert", False),
        protect_from_light=facts.flag("protect_from_light", False),
        least=facts.amount_if_given("least_dose", Kind.CONTENT),
        most=facts.amount_if_given("most_dose", Kind.CONTENT),
        least_concentration=facts.amount_if_given("least_concentration", Kind.STRENGTH),
        most_concentration=facts.amount_if_given("most_concentration", Kind.STRENGTH),
        instrument_limit_percent=_percent(facts),
        most_rate=facts.amount_if_given("most_rate", Kind.DOSE_RATE),
        diluents=listed(facts.text("diluents", "")),
        usual_least=facts.amount_if_given("usual_least", Kind.DOSE),
        usual_most=facts.amount_if_given("usual_most", Kind.DOSE),
        usual_least_concentration=facts.amount_if_given("usual_least_concentration", Kind.STRENGTH),
        usual_most_concentration=facts.amount_if_given("usual_most_concentration", Kind.STRENGTH),
    )
    facts.done()
    return ingredient


def _minutes(facts: Facts) -> int | None:
    name = "run_minutes"
    return None if facts.is_missing(name) else facts.count(name, MOST_RUN_MINUTES)


def _percent(facts: Facts) -> Decimal | None:
    name = "most_error_percent"
    return None if facts.is_missing(name) else Decimal(facts.count(name, 100))


def _product(facts: Facts) -> SourceProduct:
    made = _reconstitution(facts)
    volume = None if made else facts.amount("volume", Kind.VOLUME)
    drawn = facts.amount_if_given("withdrawable", Kind.VOLUME)
    name = facts.text("name")
    product = SourceProduct(
        code=facts.text("code", name),
        name=name,
        container=facts.word("container", tuple(ContainerKind)),
        content=facts.amount("content", Kind.CONTENT),
        volume=volume,
        strength=made.strength if made else facts.amount("strength", Kind.STRENGTH),
        withdrawable=drawn or volume or facts.amount("withdrawable", Kind.VOLUME),
        reconstitution=made,
        multi_dose=facts.flag("multi_dose", False),
        osmolarity=facts.amount_if_given("osmolarity", Kind.STRENGTH),
    )
    facts.done()
    return product


def _reconstitution(product: Facts) -> Reconstitution | None:
    """Return how a powder is made up; a powder needs it, nothing else may have it."""
    is_powder = product.plain.get("container") == ContainerKind.POWDER_VIAL
    if not is_powder:
        return None
    facts = product.part("reconstitution")
    made = Reconstitution(
        diluent_product=facts.text("diluent"),
        diluent_name=facts.text("diluent"),
        diluent_container=facts.word("diluent_container", tuple(ContainerKind), ContainerKind.SOLUTION_VIAL),
        diluent_volume_in_container=facts.amount("diluent_volume", Kind.VOLUME),
        volume=facts.amount("volume", Kind.VOLUME),
        strength=facts.amount("strength", Kind.STRENGTH),
        how=facts.word("how", WAYS),
        seconds=facts.count("seconds", MOST_SECONDS),
        solution=facts.text("solution", ""),
    )
    facts.done()
    return made


def _vehicle(facts: Facts) -> Vehicle:
    name = facts.text("name")
    vehicle = Vehicle(
        product=facts.text("code", name),
        name=name,
        volume=facts.amount("volume", Kind.VOLUME),
        overfill=facts.amount_if_given("overfill", Kind.VOLUME) or NOTHING,
        capacity=facts.amount("capacity", Kind.VOLUME),
        kind=facts.word("container", tuple(ContainerKind), ContainerKind.BAG),
        solution=facts.text("solution", ""),
        osmolarity=facts.amount_if_given("osmolarity", Kind.STRENGTH),
    )
    facts.done()
    return vehicle


def _dating(facts: Facts, storage: str) -> DatingFacts:
    ends = facts.parts("component_ends", "component", MOST_COMPONENTS)
    dating = DatingFacts(
        category=facts.count("category", 3),
        method=facts.word("method", ("aseptic", "terminal")),
        sterility_tested=facts.flag("sterility_tested"),
        only_sterile=facts.flag("only_sterile"),
        storage=storage,
        stability_hours=_hours(facts, "stability"),
        stability_source=facts.text("stability_source", ""),
        own_limit_hours=_hours(facts, "own_limit"),
        component_ends=tuple((one.text("name"), one.end("ends")) for one in ends),
    )
    _finish(facts, *ends)
    return dating


def _hours(facts: Facts, name: str) -> Decimal | None:
    time = facts.amount_if_given(name, Kind.TIME)
    return quantities.number_in(time, "h") if time is not None else None
