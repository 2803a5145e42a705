"""A step as it is planned, and the few that every part of the procedure puts together alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import ContainerKind, Draw, Worksheet

About = dict[str, str | int | list[str] | list[int]]


@dataclass(frozen=True)
class PlannedStep:
    """One step before it is put down: its kind and its own facts."""

    kind: str
    about: About


def drying(policy: Policy) -> About:
    """Return how long alcohol dries."""
    return {"seconds": policy.alcohol_dry_seconds}


def drawn(draws: Iterable[Draw]) -> Iterator[PlannedStep]:
    """Return one step a syringe, in the order of drawing."""
    for draw in draws:
        yield PlannedStep("draw", {"draw": draw.number})


def shown(draws: Iterable[Draw]) -> PlannedStep:
    """Return the one step that shows all of these syringes to a checker."""
    return PlannedStep("show", {"draws": [draw.number for draw in draws]})


def opened(ampoules: Iterable[str]) -> Iterator[PlannedStep]:
    """Return one step an ampoule that is snapped open."""
    for key in ampoules:
        yield PlannedStep("open_ampoule", {"container": key})


def ampoules_of(worksheet: Worksheet, draws: Iterable[Draw]) -> list[str]:
    """Return the ampoules that these syringes are filled from."""
    keys = dict.fromkeys(portion.container for draw in draws for portion in draw.sources)
    return [key for key in keys if worksheet.container(key).kind is ContainerKind.AMPOULE]
