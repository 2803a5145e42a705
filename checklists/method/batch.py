"""Batches: what is done for each unit alike is one counted step, gone through unit by unit.

A counted step's `units` are the numbers it counts (the unit's own number wherever each unit takes one), its
`draws` the draws beside them, `of` how many there are in all: `Syringe 3 of 12`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from typing import Any

from checklists.method.planned import About, PlannedStep, ampoules_of, drawn
from compounding.reckoning.quantities import number_in
from compounding.reckoning.worksheet import Container, Draw, Transfer, Worksheet

#: What the keys of units begin with: `syringe 3`, `bag 3`.
UNIT_WORDS = ("syringe", "bag")

#: From so many alike on, containers are gathered on one screen.
MANY = 3


@dataclass(frozen=True)
class Item:
    """One of what a counted step counts: its number, and the unit, draw or container it is about, if any."""

    number: int
    unit: int
    draw: int = 0
    container: str = ""


def is_batch(worksheet: Worksheet) -> bool:
    """Say whether several units alike are made together."""
    return worksheet.units > 1


def unit_of(draw: Draw) -> int:
    """Return the unit that a draw fills or is taken from; 0 for one that serves all, as a vial's diluent."""
    for key in (draw.destination, *(portion.container for portion in draw.sources)):
        word, _space, number = key.partition(" ")
        if word in UNIT_WORDS and number.isdecimal():
            return int(number)
    return 0


def draws_of_units(worksheet: Worksheet, units: Iterable[int]) -> set[int]:
    """Return the numbers of every draw that only those units need."""
    wanted = set(units)
    return {draw.number for draw in worksheet.draws if unit_of(draw) in wanted} if wanted else set()


def alike(worksheet: Worksheet, draws: Iterable[int]) -> list[int]:
    """Return those draws and all that hold the same: who knows one amount knows them all."""
    known = {_aim(worksheet.draw(number)) for number in draws}
    return [draw.number for draw in worksheet.draws if _aim(draw) in known]


def _aim(draw: Draw) -> tuple[int, Decimal]:
    """Return what is alike between units: the transfer, and the volume aimed at."""
    return draw.transfer, number_in(draw.target, "mL")


def is_drawn_by_unit(worksheet: Worksheet, transfer: Transfer) -> bool:
    """Say whether a transfer is one draw a unit, so that its draws are counted as the units are."""
    units = [unit_of(draw) for draw in transfer.draws]
    return is_batch(worksheet) and 0 not in units and len(set(units)) == len(units)


def draw_units(worksheet: Worksheet, draws: Iterable[Draw]) -> PlannedStep:
    """Return the one step that draws these syringes, each capped in its place before the next is drawn."""
    chosen = tuple(draws)
    has_filter = int(bool(ampoules_of(worksheet, chosen)))
    return PlannedStep("draw_units", {**_counted(worksheet, chosen), "has_filter_needle": has_filter})


def drawn_for(worksheet: Worksheet, draws: Iterable[Draw]) -> tuple[PlannedStep, ...]:
    """Return the steps that draw these syringes: of a batch, each unit's by its number, on one screen."""
    chosen = tuple(draws)
    if chosen and is_batch(worksheet) and all(map(unit_of, chosen)):
        return (draw_units(worksheet, chosen),)
    return tuple(drawn(chosen))


def added_to(worksheet: Worksheet, draws: Iterable[Draw]) -> tuple[PlannedStep, ...]:
    """Return the steps that add these syringes: of a batch, each to the bag of its number, on one screen."""
    chosen = tuple(draws)
    if is_batch(worksheet) and all(map(unit_of, chosen)):
        return (PlannedStep("add_units", _counted(worksheet, chosen)),)
    return tuple(PlannedStep("add", {"draw": draw.number}) for draw in chosen)


def gathered(containers: Iterable[Container]) -> Iterator[PlannedStep]:
    """Return the steps that gather these: many alike on one screen, counted, each still scanned by itself."""
    for _product, alike_ones in groupby(containers, key=lambda one: (one.product, one.role)):
        keys = [one.key for one in alike_ones]
        if len(keys) >= MANY:
            yield gather_each(keys)
        else:
            yield from (PlannedStep("gather_container", {"container": key}) for key in keys)


def gather_each(keys: Sequence[str]) -> PlannedStep:
    """Return the one step that gathers these containers, which are alike."""
    count = len(keys)
    return PlannedStep("gather_each", {"units": [*range(1, count + 1)], "of": count, "containers": [*keys]})


def pushed_over(worksheet: Worksheet, draws: Iterable[Draw]) -> tuple[PlannedStep, ...]:
    """Return the steps that push these syringes over: of a batch, each into the final one of its number."""
    chosen = tuple(draws)
    if is_batch(worksheet):
        return (PlannedStep("push_units", _counted(worksheet, chosen)),)
    return tuple(PlannedStep("push_over", {"draw": draw.number}) for draw in chosen)


def finals_capped(worksheet: Worksheet) -> PlannedStep:
    """Return the step that caps every final syringe that was filled from others."""
    if is_batch(worksheet):
        units = list(range(1, worksheet.units + 1))
        return PlannedStep("cap_units", {"units": units, "of": worksheet.units})
    return PlannedStep("cap_final", {"unit": 1})


def label_units(worksheet: Worksheet, units: Iterable[int]) -> PlannedStep:
    """Return the one step that puts its own label on each of these units."""
    return PlannedStep("label_units", {"units": list(units), "of": worksheet.units})


def items_of(about: Mapping[str, Any], worksheet: Worksheet) -> tuple[Item, ...]:
    """Return what a counted step counts, in its order."""
    numbers: Sequence[int] = about["units"]
    draws: Sequence[int] = about.get("draws", [])
    if about.get("containers"):
        pairs = zip(numbers, about["containers"], strict=True)
        return tuple(Item(number, 0, container=key) for number, key in pairs)
    if not draws:
        return tuple(Item(number, number) for number in numbers)
    return tuple(
        Item(number, unit_of(worksheet.draw(draw)), draw) for number, draw in zip(numbers, draws, strict=True)
    )


def number_on(worksheet: Worksheet, draw: Draw) -> int:
    """Return the number a syringe goes by: its unit's, its place's where a unit takes several, or its own."""
    transfer = worksheet.transfer_of(draw.number)
    if is_drawn_by_unit(worksheet, transfer):
        return unit_of(draw)
    if is_batch(worksheet) and unit_of(draw):
        return [other.number for other in transfer.draws].index(draw.number) + 1
    return draw.number


def shown_items(draws: Iterable[int], worksheet: Worksheet) -> tuple[Item, ...]:
    """Return syringes that are shown to a checker, in the order they are read."""
    found = (worksheet.draw(number) for number in draws)
    return tuple(Item(number_on(worksheet, draw), unit_of(draw), draw.number) for draw in found)


def _counted(worksheet: Worksheet, draws: tuple[Draw, ...]) -> About:
    """Return what counts these draws: by their units, or by their place among the draws of the transfer."""
    transfer = worksheet.transfer_of(draws[0].number)
    return {
        "units": [number_on(worksheet, draw) for draw in draws],
        "draws": [draw.number for draw in draws],
        "of": len(transfer.draws),
    }
