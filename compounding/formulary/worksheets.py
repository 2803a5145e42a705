"""From an order to its worksheet: rows and policy become reckoning's request."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from compounding.formulary import PROGRAM_VERSION, codes, stock
from compounding.formulary.models import Formulation, Order, OrderDose, Product
from compounding.formulary.models.amounts import amount_or_none
from compounding.formulary.models.formulations import listed
from compounding.formulary.models.orders import OrderState
from compounding.formulary.pairs import reviewed_pairs
from compounding.formulary.policy import current_policy
from compounding.formulary.refusals import OrderClosed
from compounding.formulary.stock import Held
from compounding.reckoning import dating, dosing, quantities
from compounding.reckoning.dating import DatingFacts
from compounding.reckoning.policy import Policy
from compounding.reckoning.reckon import reckon
from compounding.reckoning.request import (
    NOTHING,
    OrderedIngredient,
    Reconstitution,
    Request,
    SourceProduct,
    Vehicle,
)
from compounding.reckoning.worksheet import Worksheet


def for_order(order: Order, started_at: datetime, policy: Policy | None = None) -> Worksheet:
    """Return the worksheet of an order whose preparation starts then, under the policy in force.

    Refuses OrderClosed, NothingInStock, and whatever reckoning refuses.
    """
    return reckon(request_for(order, started_at, policy))


def request_for(order: Order, started_at: datetime, policy: Policy | None = None) -> Request:
    """Return what reckoning is asked for an order: each ingredient with the product to take it from."""
    if order.state != OrderState.ACTIVE:
        raise OrderClosed(number=codes.grouped(order.number), state=order.state, reason=order.reason)
    formulation = order.formulation
    doses = list(order.doses.select_related("ingredient__substance").order_by("ingredient__position"))
    taken = [_taken(dose, order, started_at) for dose in doses]
    diluents = _diluents(formulation, taken, started_at)
    return Request(
        formulation=formulation.code,
        formulation_version=formulation.version,
        title=formulation.title,
        final_container=formulation.container,
        units=order.units,
        ingredients=tuple(_ingredient(dose, found.product) for dose, found in zip(doses, taken, strict=True)),
        vehicle=_vehicle(formulation.diluent) if formulation.diluent else None,
        method=formulation.method,
        dating=_dating(formulation, [*taken, *diluents]),
        storage=formulation.storage,
        mixing=formulation.mixing,
        started_at=started_at,
        policy=policy or current_policy(),
        program_version=PROGRAM_VERSION,
        final_volume=amount_or_none(formulation.final_volume),
        body_weight=amount_or_none(order.body_weight),
        height=amount_or_none(order.height),
        empty_product=formulation.empty_bag.gtin if formulation.empty_bag else "",
        empty_name=formulation.empty_bag.name if formulation.empty_bag else "",
        empty_capacity=amount_or_none(formulation.empty_bag.capacity) if formulation.empty_bag else None,
        run_minutes=formulation.run_minutes,
        peripheral=formulation.is_peripheral(order.route),
        weighed_days=(timezone.localdate(started_at) - order.weighed_on).days if order.weighed_on else None,
        pairs=reviewed_pairs(),
    )


def _taken(dose: OrderDose, order: Order, at: datetime) -> Held:
    """Return the product for one ingredient of the whole order, all units together."""
    weight, height = amount_or_none(order.body_weight), amount_or_none(order.height)
    content = dosing.required_content(quantities.read(dose.dose), weight, height).amount
    chosen = order.choices.filter(product__substance=dose.ingredient.substance).last()
    if chosen:
        return stock.needed(chosen.product, at)
    return stock.choice(dose.ingredient, content * order.units, at)


def _diluents(formulation: Formulation, taken: list[Held], at: datetime) -> list[Held]:
    dissolving = [found.product.reconstitution_diluent for found in taken]
    wanted = [formulation.diluent, formulation.empty_bag, *dissolving]
    return [stock.needed(product, at) for product in dict.fromkeys(filter(None, wanted))]


def _dating(formulation: Formulation, parts: list[Held]) -> DatingFacts:
    zone = timezone.get_default_timezone()
    own = formulation.own_limit_hours
    return DatingFacts(
        category=formulation.category,
        method="aseptic",
        sterility_tested=False,
        only_sterile=True,
        storage=formulation.storage,
        stability_hours=Decimal(formulation.stability_hours),
        stability_source=formulation.stability_source,
        own_limit_hours=Decimal(own) if own else None,
        component_ends=tuple(
            (str(part.first_lot), dating.end_of(part.first_lot.expires_on, zone)) for part in parts
        ),
    )


def _ingredient(dose: OrderDose, product: Product) -> OrderedIngredient:
    limits, substance = dose.ingredient, dose.ingredient.substance
    least, most = _absolute_limits(dose)
    return OrderedIngredient(
        substance=substance.name,
        written=substance.written,
        dose=quantities.read(dose.dose),
        product=_source(product),
        hazardous=substance.is_hazardous,
        high_alert=substance.is_high_alert,
        protect_from_light=substance.protect_from_light or limits.formulation.light_cover,
        least=amount_or_none(least),
        most=amount_or_none(most),
        least_concentration=amount_or_none(limits.least_concentration),
        most_concentration=amount_or_none(limits.most_concentration),
        most_rate=amount_or_none(limits.most_rate),
        diluents=listed(limits.diluents),
        usual_least=amount_or_none(limits.usual_least),
        usual_most=amount_or_none(limits.usual_most),
        usual_least_concentration=amount_or_none(limits.usual_least_concentration),
        usual_most_concentration=amount_or_none(limits.usual_most_concentration),
    )


def _absolute_limits(dose: OrderDose) -> tuple[str, str]:
    """Return the limits of one unit's content: stated ones, else those of a dose ordered as a content."""
    limits = dose.ingredient
    if limits.is_per_weight or limits.is_per_surface:
        return limits.least_amount, limits.most_amount
    return limits.least_amount or limits.least_dose, limits.most_amount or limits.most_dose


def _source(product: Product) -> SourceProduct:
    return SourceProduct(
        code=product.gtin,
        name=product.name,
        container=product.container,
        content=quantities.read(product.content),
        volume=amount_or_none(product.volume),
        strength=stock.strength(product),
        withdrawable=quantities.read(product.withdrawable),
        reconstitution=_reconstitution(product),
        multi_dose=product.is_multi_dose,
        osmolarity=amount_or_none(product.osmolarity),
    )


def _reconstitution(product: Product) -> Reconstitution | None:
    diluent = product.reconstitution_diluent
    if diluent is None:
        return None
    return Reconstitution(
        diluent_product=diluent.gtin,
        diluent_name=diluent.name,
        diluent_container=diluent.container,
        diluent_volume_in_container=quantities.read(diluent.volume),
        volume=quantities.read(product.reconstitution_volume),
        strength=quantities.read(product.reconstitution_strength),
        how=product.reconstitution_way,
        seconds=product.reconstitution_seconds,
        solution=diluent.solution,
    )


def _vehicle(diluent: Product) -> Vehicle:
    volume = quantities.read(diluent.volume)
    return Vehicle(
        product=diluent.gtin,
        name=diluent.name,
        volume=volume,
        overfill=amount_or_none(diluent.overfill) or NOTHING,
        capacity=amount_or_none(diluent.capacity) or volume,
        kind=diluent.container,
        solution=diluent.solution,
        osmolarity=amount_or_none(diluent.osmolarity),
    )
