"""The mixture: what one unit takes of each ingredient, and what ends up in its container."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.admixing import Admixture, check_concentration, concentration, into_bag, to_volume
from compounding.reckoning.dosing import check_limits, required_content
from compounding.reckoning.quantities import Quantity, number_in, of
from compounding.reckoning.refusals import MissingFact, OutOfRange
from compounding.reckoning.request import Method, OrderedIngredient, Request
from compounding.reckoning.strengths import base_of, volume_of
from compounding.reckoning.working import short, significant
from compounding.reckoning.worksheet import FinalContainer, Line, WorksheetIngredient

MOST_UNITS = 500


@dataclass(frozen=True)
class ReckonedIngredient:
    """One ingredient of one unit: the content the order requires and the unrounded volume that holds it."""

    number: int
    ordered: OrderedIngredient
    content: Quantity
    volume: Quantity
    lines: tuple[Line, ...]


def check_order(request: Request) -> None:
    """Refuse an order that cannot be reckoned at all. Raises MissingFact, OutOfRange."""
    if not 1 <= request.units <= MOST_UNITS:
        raise OutOfRange(
            what="The number of units",
            given=str(request.units),
            range=f"a whole number from 1 to {MOST_UNITS}",
        )
    if not request.ingredients:
        raise MissingFact(fact="The drug", why="the order has no ingredient")
    if request.final_container is FinalContainer.BAG and request.vehicle is None:
        raise MissingFact(fact="The diluent bag", why="the drug is added to one")
    for what, amount in _amounts(request):
        if amount is not None and amount.magnitude <= 0:
            raise OutOfRange(what=what, given=short(amount), range="an amount above zero")


def reckoned(number: int, ingredient: OrderedIngredient, request: Request) -> ReckonedIngredient:
    """Return what one unit takes of an ingredient, numbered from 1. Raises BadOrder refusals and
    NotConvertible.
    """
    dose = required_content(ingredient.dose, request.body_weight, request.height)
    content = dose.amount
    check_limits(ingredient.substance, content, ingredient.least, ingredient.most)
    volume = volume_of(content, ingredient.product.strength)
    lines = (*dose.lines, *volume.lines)
    told = tuple(Line(f"{ingredient.written} {line.about}", line.text) for line in lines)
    return ReckonedIngredient(number, ingredient, content, volume.amount, told)


def admixture_of(request: Request, ingredients: tuple[ReckonedIngredient, ...]) -> Admixture:
    """Return what ends up in one unit. Raises DoesNotFit, NothingToWithdraw, MissingFact, OutOfRange."""
    additive = of(sum((number_in(one.volume, "mL") for one in ingredients), Decimal(0)), "mL")
    if request.final_container is FinalContainer.BAG and request.vehicle is not None:
        return into_bag(additive, request.vehicle, request.method, request.policy.withdraw_over_percent)
    if request.final_volume is None and Method(request.method) is Method.FILL_TO_VOLUME:
        raise MissingFact(fact="The final volume", why="the container is filled to it")
    mixed = to_volume(additive, request.final_volume, request.empty_capacity)
    if mixed.filled.magnitude and request.vehicle is None:
        raise MissingFact(fact="The diluent", why=f"{short(mixed.filled)} are needed to fill up with")
    return mixed


def as_written(one: ReckonedIngredient, mixed: Admixture) -> WorksheetIngredient:
    """Return an ingredient as the worksheet keeps it, its concentrations within the formulation's limits.

    Concentrations are kept to four significant figures, half up. Raises TooConcentrated, TooDilute.
    """
    ordered, made = one.ordered, one.ordered.product.reconstitution
    found = []
    for on, volume in (("labelled", mixed.labelled), ("true", mixed.true_volume)):
        exact = concentration(one.content, volume)
        limits = (ordered.least_concentration, ordered.most_concentration)
        check_concentration(ordered.substance, exact, on, limits)
        found.append(of(significant(exact.magnitude), f"{base_of(one.content)}/mL"))
    return WorksheetIngredient(
        substance=ordered.substance,
        written=ordered.written,
        dose=one.content,
        strength=ordered.product.strength,
        volume=one.volume,
        product=ordered.product.code,
        container=ordered.product.container,
        hazardous=ordered.hazardous,
        high_alert=ordered.high_alert,
        protect_from_light=ordered.protect_from_light,
        how_to_dissolve=made.how if made else "",
        dissolve_seconds=made.seconds if made else 0,
        concentration=found[0],
        true_concentration=found[1],
    )


def concentration_lines(one: ReckonedIngredient, mixed: Admixture) -> tuple[Line, ...]:
    """Return the working of a concentration, on the labelled volume and, where it differs, on the true
    one.
    """
    volumes = [("concentration", mixed.labelled)]
    if mixed.true_volume != mixed.labelled:
        volumes.append(("concentration with overfill", mixed.true_volume))
    return tuple(
        Line(
            f"{one.ordered.written} {about}",
            f"{short(one.content)} ÷ {short(volume)} = {short(concentration(one.content, volume))}",
        )
        for about, volume in volumes
    )


def _amounts(request: Request) -> list[tuple[str, Quantity | None]]:
    """Return every amount of a request that must be above zero, with the words for it."""
    found = [
        ("The body weight", request.body_weight),
        ("The height", request.height),
        ("The final volume", request.final_volume),
        ("The volume of the diluent bag", request.vehicle.volume if request.vehicle else None),
    ]
    for one in request.ingredients:
        product, made = one.product, one.product.reconstitution
        found += [
            (f"The dose of {one.substance}", one.dose),
            (f"The strength of {product.name}", product.strength),
            (f"The content of {product.name}", product.content),
            (f"What can be drawn from {product.name}", product.withdrawable),
            (f"The diluent for {product.name}", made.volume if made else None),
            (
                f"The diluent's container for {product.name}",
                made.diluent_volume_in_container if made else None,
            ),
        ]
    return found
