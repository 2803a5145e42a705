"""Worksheets of any combination, reckoned from orders: nothing is put together by hand.

The drugs are invented; each comes in every kind of container, so that a combination is named.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from hypothesis import assume, event
from hypothesis import strategies as st

from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.request import OrderedIngredient, Request, SourceProduct
from compounding.reckoning.worksheet import ContainerKind, FinalContainer, Worksheet
from tests.reckoning.prepared_orders import bag, ingredient, order, powder, solution

#: What one container holds: mg, mL. A powder gives 50 mg/mL in 20 mL.
HOLDS = {
    ContainerKind.SOLUTION_VIAL: ("100", "10"),
    ContainerKind.POWDER_VIAL: ("1000", "20"),
    ContainerKind.AMPOULE: ("50", "5"),
    ContainerKind.BAG: ("500", "100"),
    ContainerKind.PREFILLED_SYRINGE: ("50", "50"),
}


def product(kind: ContainerKind, name: str) -> SourceProduct:
    """Return an invented drug of that name in that kind of container."""
    content, volume = HOLDS[kind]
    if kind is ContainerKind.POWDER_VIAL:
        return powder(f"{name} powder", "1", "20", "50", "20")
    strength = Decimal(content) / Decimal(volume)
    return solution(f"{name} {kind}", of(content, "mg"), volume, of(strength, "mg/mL"), kind=kind)


def asked(kind: ContainerKind, name: str, share: Decimal = Decimal("0.8"), **more: Any) -> OrderedIngredient:
    """Return an ingredient of that share of one container."""
    return ingredient(product(kind, name), of(Decimal(HOLDS[kind][0]) * share, "mg"), **more)


def into(final: FinalContainer, *ingredients: OrderedIngredient, **more: Any) -> Request:
    """Return an order of these in a bag that has fluid, in a syringe as it is, or in a filled empty bag."""
    ways: dict[FinalContainer, dict[str, Any]] = {
        FinalContainer.BAG: {"vehicle": bag(250, 25, 500)},
        FinalContainer.SYRINGE: {"method": "add only"},
        FinalContainer.EMPTY_BAG: filled(of(200, "mL"), "fill to volume"),
    }
    return order(*ingredients, final_container=final, **{**ways[final], **more})


def filled(volume: Any, method: str) -> dict[str, Any]:
    """Return what fills a container up to a volume out of a bag."""
    return {
        "method": method, "final_volume": volume, "vehicle": bag(250, 25, 500),
        "empty_product": "empty", "empty_capacity": of(500, "mL"),
    }  # fmt: skip


shares = st.integers(1, 30).map(lambda tenths: Decimal(tenths) / 10)


@st.composite
def worksheets(draw: st.DrawFn) -> Worksheet:
    """Return a worksheet of one to three drugs; what reckoning refuses is not made."""
    hazardous, light = draw(st.booleans()), draw(st.booleans())
    kinds = draw(st.lists(st.sampled_from(ContainerKind), min_size=1, max_size=3))
    names = [f"drug{number}" for number in range(1, len(kinds) + 1)]
    drugs = [
        asked(kind, name, draw(shares), hazardous=hazardous, protect_from_light=light)
        for kind, name in zip(kinds, names, strict=True)
    ]
    final = draw(st.sampled_from(FinalContainer))
    more: dict[str, Any] = {"units": draw(st.sampled_from((1, 1, 2, 3)))}
    if final is FinalContainer.BAG:
        more["method"] = draw(st.sampled_from(("policy", "add only", "withdraw equal")))
    if final is FinalContainer.SYRINGE and draw(st.booleans()):
        more |= filled(of(draw(st.sampled_from((20, 30, 50))), "mL"), "fill to volume")
    try:
        return reckon(into(final, *drugs, **more))
    except Refusal as refusal:
        event(f"refused: {refusal.code}")
        assume(False)
        raise
