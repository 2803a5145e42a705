"""What stands in the hood for a worksheet: every container, every syringe and the waste, with their sizes.

Sizes are in cm, as they are common in a pharmacy (common practice, no source): room enough, not exact.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from decimal import Decimal

from checklists.method.batch import number_on
from checklists.method.procedure.pooled import is_pooled
from compounding.reckoning.airflow import Deck, Item, Round, place
from compounding.reckoning.quantities import number_in
from compounding.reckoning.worksheet import Container, ContainerKind, Draw, FinalContainer, Worksheet

VIAL, AMPOULE = Decimal(4), Decimal(3)
SYRINGE_LENGTH, SYRINGE_WIDTH = Decimal(14), Decimal(4)
WASTE = Decimal(14)

#: What the key and label of a finished syringe begin with, to tell it from one that is emptied.
FINAL = "final syringe"


def items_of(
    worksheet: Worksheet, unused: Collection[str] = (), undrawn: Collection[int] = ()
) -> tuple[Item, ...]:
    """Return what is brought into the hood together: containers, then syringes, then waste.

    Without the containers that are not used and the draws that are not drawn here.
    """
    return (
        *(_container(container) for container in worksheet.containers if container.key not in unused),
        *(_drawn(worksheet, draw) for draw in worksheet.draws if draw.number not in undrawn),
        *_finals(worksheet),
        Item("waste", "waste", "box", WASTE, WASTE, is_waste=True),
    )


def rounds_of(
    worksheet: Worksheet, deck: Deck, unused: Collection[str] = (), undrawn: Collection[int] = ()
) -> tuple[Round, ...]:
    """Return where everything stands; several rounds when the deck has not room for all at once."""
    return place(items_of(worksheet, unused, undrawn), deck)


def _container(container: Container) -> Item:
    if container.kind is ContainerKind.BAG:
        return _bag(container)
    across = AMPOULE if container.kind is ContainerKind.AMPOULE else VIAL
    return Item(container.key, container.key, "disc", across, across, site=(Decimal(0), Decimal(0)))


def _bag(container: Container) -> Item:
    """A bag lies flat with its port towards the filter."""
    litres = number_in(container.volume, "mL") / 1000 if container.volume else Decimal(1)
    width, depth = (Decimal(12), Decimal(20)) if litres >= Decimal("0.5") else (Decimal(9), Decimal(14))
    return Item(container.key, container.key, "box", width, depth, site=(Decimal(0), depth / 2), stays=True)


def _drawn(worksheet: Worksheet, draw: Draw) -> Item:
    """A syringe as its own steps call it: one that is itself the unit is the final one of that number."""
    is_unit = worksheet.final_container is FinalContainer.SYRINGE and draw.destination.startswith("syringe")
    if is_unit and not is_pooled(worksheet):
        return _syringe(_final_name(worksheet, draw.destination.rpartition(" ")[2]))
    number = number_on(worksheet, draw)
    is_plain = number == draw.number and not (is_unit and worksheet.units > 1)
    what = "" if is_plain else f", {worksheet.transfer_of(draw.number).of_what}"
    return _syringe(f"syringe {number}{what}")


def _finals(worksheet: Worksheet) -> Iterator[Item]:
    """The empty syringes that others are pushed into; a single one stays in every round."""
    if is_pooled(worksheet):
        for unit in range(1, worksheet.units + 1):
            yield replace(_syringe(_final_name(worksheet, str(unit))), stays=worksheet.units == 1)


def _final_name(worksheet: Worksheet, number: str) -> str:
    return FINAL if worksheet.units == 1 else f"{FINAL} {number}"


def _syringe(name: str) -> Item:
    tip = (-SYRINGE_LENGTH / 2, Decimal(0))
    return Item(name, name, "box", SYRINGE_LENGTH, SYRINGE_WIDTH, site=tip)
