"""Supplies: what is gathered but not scanned – syringes by size, needles, wipes, caps, label, bin.

One syringe and one needle a draw; an ampoule's draw has a filter needle to draw with and a needle to add with
(5 micron, one way only, standards.md section 4). A prefilled syringe, and a final syringe that is filled from
others, are joined by a luer connector (common practice, no source). A hazardous preparation is luer-lock and
closed throughout, with a mat, outer gloves to change and bags of its own (standards.md section 2).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.worksheet import Container, ContainerKind, Draw, Supply

_VIALS = (ContainerKind.SOLUTION_VIAL, ContainerKind.POWDER_VIAL)


def supplies_for(
    draws: Sequence[Draw],
    containers: Sequence[Container],
    finals: Sequence[Quantity],
    units: int,
    hazardous: bool,
    light: bool,
) -> tuple[Supply, ...]:
    """Return what to gather. `finals` are the sizes of final syringes that are filled from others."""
    lock = " luer-lock" if hazardous else ""
    sizes = Counter(number_in(size, "mL") for size in (*(draw.syringe.size for draw in draws), *finals))
    kinds = {one.key: one.kind for one in containers}
    counted = (
        *((f"{write(of(size, 'mL'))}{lock} syringe", count) for size, count in sorted(sizes.items())),
        ("needle", 0 if hazardous else sum(_takes_needle(draw, kinds) for draw in draws)),
        ("filter needle 5 micron", sum(_is_from(draw, kinds, ContainerKind.AMPOULE) for draw in draws)),
        ("luer connector", _connectors(draws, kinds, is_pooled=bool(finals))),
        ("syringe cap", sizes.total()),
        *(_contained(draws, kinds, units) if hazardous else ()),
        ("alcohol wipe", len(containers)),
        ("label", units),
        ("light cover", units if light else 0),
        ("bin", 1),
    )
    return tuple(Supply(name, count) for name, count in counted if count)


def _is_from(draw: Draw, kinds: dict[str, ContainerKind], kind: ContainerKind) -> bool:
    return any(kinds.get(portion.container) is kind for portion in draw.sources)


def _takes_needle(draw: Draw, kinds: dict[str, ContainerKind]) -> bool:
    """Tell whether anything is pierced: to draw, or to add."""
    sources = {kinds.get(portion.container) for portion in draw.sources}
    return sources != {ContainerKind.PREFILLED_SYRINGE} or not draw.destination.startswith("syringe")


def _connectors(draws: Sequence[Draw], kinds: dict[str, ContainerKind], is_pooled: bool) -> int:
    """Return how many luer connectors: one a prefilled syringe that is drawn from, one a syringe pushed
    over.
    """
    joined = sum(
        kinds.get(portion.container) is ContainerKind.PREFILLED_SYRINGE
        for draw in draws
        for portion in draw.sources
    )
    pushed = sum(draw.destination.startswith("syringe") for draw in draws)
    return joined + (pushed if is_pooled else 0)


def _contained(
    draws: Sequence[Draw], kinds: dict[str, ContainerKind], units: int
) -> Iterator[tuple[str, int]]:
    """Yield what keeps a hazardous drug in: a closed device on everything that is joined, and what is
    changed.
    """
    yield "closed vial device", sum(kind in _VIALS for kind in kinds.values())
    yield "closed bag adapter", sum(kind is ContainerKind.BAG for kind in kinds.values())
    yield "closed syringe adapter", len(draws)
    yield "mat", 1
    yield "pair of outer gloves to change", 1
    yield "transport bag", units
    yield "hazardous waste bag", 1
