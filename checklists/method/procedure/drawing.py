"""How a syringe is filled from each container: what is opened or joined first, and sites swabbed anew."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from checklists.method.batch import drawn_for, is_batch
from checklists.method.planned import PlannedStep, ampoules_of, drawn, drying, opened
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import ContainerKind, Draw, Worksheet

#: What is pierced where alcohol has dried. A prefilled syringe's tip is sterile under its cap: never swabbed.
SWABBED = (
    ContainerKind.SOLUTION_VIAL,
    ContainerKind.POWDER_VIAL,
    ContainerKind.AMPOULE,
    ContainerKind.BAG,
)


def filled(worksheet: Worksheet, draws: Iterable[Draw]) -> Iterator[PlannedStep]:
    """Return the steps that fill these syringes: ampoules opened, prefilled syringes joined, then drawn."""
    draws = tuple(draws)
    yield from opened(ampoules_of(worksheet, draws))
    if is_batch(worksheet):
        for draw in draws:
            yield from joined(worksheet, draw)
        yield from drawn_for(worksheet, draws)
        return
    for draw in draws:
        yield from joined(worksheet, draw)
        yield from drawn([draw])


def joined(worksheet: Worksheet, draw: Draw) -> Iterator[PlannedStep]:
    """Return the steps that join a syringe to the prefilled ones it is filled from."""
    for portion in draw.sources:
        if worksheet.container(portion.container).kind is ContainerKind.PREFILLED_SYRINGE:
            yield PlannedStep("join_prefilled", {"draw": draw.number, "container": portion.container})


def swabbed_again(worksheet: Worksheet, keys: Iterable[str], policy: Policy) -> Iterator[PlannedStep]:
    """Return the step that swabs these sites once more, if any of them is swabbed at all."""
    sites = [key for key in dict.fromkeys(keys) if is_reused(worksheet, key)]
    if sites:
        yield PlannedStep("swab_sites", {**drying(policy), "sites": sites})


def is_reused(worksheet: Worksheet, key: str) -> bool:
    """Tell whether a container's site may be pierced a second time: an open ampoule has none."""
    kind = worksheet.container(key).kind
    return kind in SWABBED and kind is not ContainerKind.AMPOULE
