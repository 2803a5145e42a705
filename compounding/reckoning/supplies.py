"""Supplies: what is gathered but not scanned – syringes by size, needles, wipes, caps, label, bin.

One syringe and one needle a draw; an ampoule's draw has a filter needle to draw with and a needle to add with
(5 micron, one way only, standards.md section 4); luer-lock for a hazardous preparation (section 2).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.worksheet import Container, ContainerKind, Draw, Supply


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
    ampoules = {one.key for one in containers if one.kind is ContainerKind.AMPOULE}
    filtered = sum(any(portion.container in ampoules for portion in draw.sources) for draw in draws)
    counted = (
        *((f"{write(of(size, 'mL'))}{lock} syringe", count) for size, count in sorted(sizes.items())),
        ("needle", len(draws)),
        ("filter needle 5 micron", filtered),
        ("syringe cap", sizes.total()),
        ("alcohol wipe", len(containers)),
        ("label", units),
        ("light cover", units if light else 0),
        ("bin", 1),
    )
    return tuple(Supply(name, count) for name, count in counted if count)
