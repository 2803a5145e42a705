"""From an order to its worksheet: contents, volumes, draws, what ends up in the container, until when.

Raises refusals in words – over a dose limit, not measurable, does not fit – and builds no worksheet without a
proof.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from decimal import Decimal
from typing import Any

from compounding.reckoning.admixing import Admixture
from compounding.reckoning.dating import beyond_use, working
from compounding.reckoning.layout import final_syringes, laid_out
from compounding.reckoning.limits import judged
from compounding.reckoning.mixture import (
    ReckonedIngredient,
    admixture_of,
    as_written,
    check_order,
    concentration_lines,
    reckoned,
)
from compounding.reckoning.proof import prove
from compounding.reckoning.quantities import Quantity, number_in, of, round_half_up
from compounding.reckoning.reconstitution import containers_for, whole_vial_warning
from compounding.reckoning.request import (
    Method,
    OrderedIngredient,
    Reconstitution,
    Request,
    SourceProduct,
    Vehicle,
)
from compounding.reckoning.supplies import supplies_for
from compounding.reckoning.transfers import Bench
from compounding.reckoning.working_lines import draw_lines, source_lines
from compounding.reckoning.worksheet import FinalContainer, Line, Worksheet, plain_of

__all__ = ["Method", "OrderedIngredient", "Reconstitution", "Request", "SourceProduct", "Vehicle", "reckon"]

_HUNDREDTH = Decimal("0.01")


def reckon(request: Request) -> Worksheet:
    """Return the worksheet of an order or a batch, proved.

    Volumes of the finished unit are kept to 0.01 mL and concentrations to four figures, half up; what the
    order requires stays unrounded. Raises the BadOrder and CannotBeMade refusals, NotConvertible, and
    NotProved.
    """
    check_order(request)
    ingredients = tuple(reckoned(at, one, request) for at, one in enumerate(request.ingredients, 1))
    mixed = admixture_of(request, ingredients)
    limits = judged(request, ingredients, mixed)
    bench = laid_out(request, ingredients, mixed)
    facts = {
        **_asked(request),
        **_mixed(request, ingredients, mixed),
        **_bench(request, bench),
        **_dated(request),
    }
    facts["working"] = (
        *_working(ingredients, mixed, bench),
        *limits.lines,
        *working(facts["limits"], request.started_at, request.started_at.tzinfo or UTC),
    )
    facts["warnings"] = _warnings(ingredients)
    facts["cautions"] = limits.cautions
    proved = prove(plain_of(facts), plain_of(replace(request, pairs=None)))
    return Worksheet(**facts, proof=tuple(Line(about, text) for about, text in proved))


def _asked(request: Request) -> dict[str, Any]:
    """Return what the worksheet keeps of the order as it is."""
    return {
        "formulation": request.formulation,
        "formulation_version": request.formulation_version,
        "title": request.title,
        "final_container": FinalContainer(request.final_container),
        "units": request.units,
        "storage": request.storage,
        "mixing": request.mixing,
        "policy_version": request.policy.version,
        "program_version": request.program_version,
    }


def _mixed(request: Request, ingredients: tuple[ReckonedIngredient, ...], mixed: Admixture) -> dict[str, Any]:
    """Return what ends up in each unit."""
    vehicle = request.vehicle
    return {
        "method": str(mixed.method),
        "diluent": vehicle.name if vehicle else "",
        "diluent_volume": vehicle.volume if vehicle else of(0, "mL"),
        "final_volume": _to_hundredth(mixed.labelled),
        "true_volume": _to_hundredth(mixed.true_volume),
        "ingredients": tuple(as_written(one, mixed) for one in ingredients),
        "hazardous": any(one.ordered.hazardous for one in ingredients),
        "protect_from_light": any(one.ordered.protect_from_light for one in ingredients),
    }


def _bench(request: Request, bench: Bench) -> dict[str, Any]:
    """Return containers, transfers and supplies."""
    draws = [draw for transfer in bench.transfers for draw in transfer.draws]
    hazardous = any(one.hazardous for one in request.ingredients)
    light = any(one.protect_from_light for one in request.ingredients)
    finals = final_syringes(request, bench)
    return {
        "containers": tuple(bench.containers),
        "transfers": tuple(bench.transfers),
        "supplies": supplies_for(draws, bench.containers, finals, request.units, hazardous, light),
    }


def _dated(request: Request) -> dict[str, Any]:
    """Return the beyond-use date and every candidate for it."""
    limits = beyond_use(request.dating, request.started_at)
    return {
        "started_at": request.started_at.astimezone(UTC).isoformat(timespec="seconds"),
        "beyond_use_at": next(limit.ends_at for limit in limits if limit.binding),
        "limits": limits,
    }


def _working(ingredients: tuple[ReckonedIngredient, ...], mixed: Admixture, bench: Bench) -> list[Line]:
    """Return the working line by line, as a pharmacist would check it; the date's comes after it."""
    lines: list[Line] = []
    for one in ingredients:
        lines += [*one.lines, *source_lines(one, bench)]
    lines += mixed.lines
    lines += draw_lines(bench)
    for one in ingredients:
        lines += concentration_lines(one, mixed)
    return lines


def _warnings(ingredients: tuple[ReckonedIngredient, ...]) -> tuple[str, ...]:
    """Return what a checker should know and no rule forbids."""
    warnings = (
        whole_vial_warning(
            one.ordered, one.content, containers_for(one.volume, one.ordered.product.withdrawable)
        )
        for one in ingredients
    )
    return tuple(warning for warning in warnings if warning)


def _to_hundredth(volume: Quantity) -> Quantity:
    return of(round_half_up(number_in(volume, "mL"), _HUNDREDTH), "mL")
