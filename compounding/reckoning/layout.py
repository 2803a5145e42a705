"""The layout of the work: volumes of one unit or one batch become transfers, each for its purpose."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from compounding.reckoning.admixing import Admixture
from compounding.reckoning.dilution import advice
from compounding.reckoning.drawing import Demands, Fill, demands_of, fills_for
from compounding.reckoning.mixture import ReckonedIngredient
from compounding.reckoning.portions import shares
from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.reconstitution import containers_for, label_rounding
from compounding.reckoning.refusals import DoesNotFit, NotMeasurable
from compounding.reckoning.request import Reconstitution, Request, Vehicle
from compounding.reckoning.transfers import Aim, Bench, Diluent, Turn, portions_of
from compounding.reckoning.worksheet import FinalContainer, Portion, Purpose

_ALL_AIR = Decimal(100)
WASTE = "waste"


def laid_out(request: Request, ingredients: tuple[ReckonedIngredient, ...], mixed: Admixture) -> Bench:
    """Return the bench with every transfer in the order of the work. Raises NotMeasurable."""
    hazardous = any(one.ordered.hazardous for one in ingredients)
    bench = Bench(demands_of(request.policy, hazardous))
    units = unit_keys(request)
    for one in ingredients:
        _lay_ingredient(bench, one, request, mixed, units)
    if request.final_container is not FinalContainer.SYRINGE:
        _set_out_bags(bench, request, units)
    if mixed.filled.magnitude and request.vehicle:
        _fill_up(bench, request.vehicle, mixed.filled, units)
    return bench


def unit_keys(request: Request) -> tuple[str, ...]:
    """Return what each unit is called on every screen: `bag`, `bag 1` …, `syringe 1` …"""
    if request.final_container is FinalContainer.SYRINGE:
        return tuple(f"syringe {number}" for number in range(1, request.units + 1))
    if request.units == 1:
        return ("bag",)
    return tuple(f"bag {number}" for number in range(1, request.units + 1))


def final_syringes(request: Request, bench: Bench) -> tuple[Quantity, ...]:
    """Return the sizes of the final syringes that are filled from others; none where the draw itself is the
    unit.

    Raises DoesNotFit when no size of stock holds what is put into it.
    """
    draws = [
        draw for transfer in bench.transfers for draw in transfer.draws if draw.destination == "syringe 1"
    ]
    if request.final_container is not FinalContainer.SYRINGE or len(draws) == 1:
        return ()
    wanted = sum((number_in(draw.target, "mL") for draw in draws), Decimal(0))
    size = next((size for size in bench.demands.sizes if wanted <= size.most), None)
    if size is None:
        largest = bench.demands.sizes[-1]
        raise DoesNotFit(
            volume=write(of(wanted, "mL")),
            container=f"{write(largest.syringe.size)} syringe",
            capacity=write(of(largest.most, "mL")),
        )
    return (size.syringe.size,) * request.units


def _lay_ingredient(
    bench: Bench, one: ReckonedIngredient, request: Request, mixed: Admixture, units: tuple[str, ...]
) -> None:
    """Lay out one ingredient: reconstitute, withdraw from the bag before the first drug, draw and add the
    drug.
    """
    product = one.ordered.product
    fills = _drug_fills(bench.demands, one)
    held = number_in(product.withdrawable, "mL")
    wanted = max(number_in(one.volume, "mL"), sum((fill.target for fill in fills), Decimal(0)))
    count = containers_for(of(wanted * len(units), "mL"), product.withdrawable)
    found = shares([(fill.target, fill.size.step) for fill in fills] * len(units), held, count)
    keys = bench.open_sources(product, one.number, max(index for share in found for index, _ in share) + 1)
    if product.reconstitution:
        _reconstitute(bench, product.reconstitution, one, keys)
    if one.number == 1 and mixed.withdrawn.magnitude and request.vehicle:
        _withdraw(bench, request.vehicle, mixed.withdrawn, units)
    size = len(fills)
    turns = [
        Turn(unit, fills, tuple(portions_of(share, keys) for share in found[at * size : (at + 1) * size]))
        for at, unit in enumerate(units)
    ]
    air = request.policy.hazardous_air_percent if one.ordered.hazardous else _ALL_AIR
    bench.add(Aim(Purpose.DRUG, one.number, one.ordered.written, one.volume, air), turns)


def _drug_fills(demands: Demands, one: ReckonedIngredient) -> tuple[Fill, ...]:
    """Return the syringes of one unit's drug; a refusal says whether an intermediate dilution would serve."""
    ordered = one.ordered
    stricter = replace(
        demands,
        strength_error=label_rounding(ordered.product),
        instrument_limit=ordered.instrument_limit_percent,
    )
    try:
        return fills_for(one.volume, stricter)
    except NotMeasurable as refused:
        facts = {**refused.facts, "instead": advice(one.content, ordered.product.strength, stricter)}
        raise NotMeasurable(**facts) from None


def _reconstitute(bench: Bench, made: Reconstitution, one: ReckonedIngredient, keys: list[str]) -> None:
    """Lay out the diluent of each vial: the label's volume, one go a vial."""
    fills = fills_for(made.volume, bench.demands)
    diluent = Diluent(
        made.diluent_product,
        made.diluent_name,
        made.diluent_container,
        made.diluent_volume_in_container,
        "diluent",
    )
    turns = [Turn(key, fills, bench.take_diluent(diluent, fills, one.number)) for key in keys]
    bench.add(Aim(Purpose.RECONSTITUTE, one.number, made.diluent_name, made.volume, _ALL_AIR), turns)


def _withdraw(bench: Bench, vehicle: Vehicle, volume: Quantity, units: tuple[str, ...]) -> None:
    """Lay out what comes out of each bag before anything goes in."""
    fills = fills_for(volume, bench.demands)
    turns = [
        Turn(WASTE, fills, tuple((Portion(bag, of(fill.target, "mL")),) for fill in fills)) for bag in units
    ]
    bench.add(Aim(Purpose.WITHDRAW, None, vehicle.name, volume, _ALL_AIR), turns)


def _fill_up(bench: Bench, vehicle: Vehicle, volume: Quantity, units: tuple[str, ...]) -> None:
    """Lay out the diluent that fills each unit to its volume."""
    fills = fills_for(volume, bench.demands)
    diluent = Diluent(vehicle.product, vehicle.name, vehicle.kind, vehicle.volume, "fill")
    turns = [Turn(unit, fills, bench.take_diluent(diluent, fills, None)) for unit in units]
    bench.add(Aim(Purpose.FILL, None, vehicle.name, volume, _ALL_AIR), turns)


def _set_out_bags(bench: Bench, request: Request, units: tuple[str, ...]) -> None:
    """Set out the bags the units are made in."""
    if request.final_container is FinalContainer.BAG and request.vehicle:
        bench.open_finals(units, request.vehicle.product, request.vehicle.name, request.vehicle.volume)
    else:
        bench.open_finals(units, request.empty_product, request.empty_name, None)
