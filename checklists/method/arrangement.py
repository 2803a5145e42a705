"""What stands in the hood for a worksheet: every container, every syringe and the waste, with their sizes.

Sizes are in cm, as they are common in a pharmacy (common practice, no source): room enough, not exact.
"""

from __future__ import annotations

from decimal import Decimal

from compounding.reckoning.airflow import Deck, Item, Round, place
from compounding.reckoning.quantities import number_in
from compounding.reckoning.worksheet import Container, ContainerKind, Draw, Worksheet

VIAL, AMPOULE = Decimal(4), Decimal(3)
SYRINGE_LENGTH, SYRINGE_WIDTH = Decimal(14), Decimal(4)
WASTE = Decimal(14)


def items_of(worksheet: Worksheet) -> tuple[Item, ...]:
    """Return what is brought into the hood together: containers, then syringes, then waste."""
    return (
        *(_container(container) for container in worksheet.containers),
        *(_syringe(draw) for draw in worksheet.draws),
        Item("waste", "waste", "box", WASTE, WASTE, is_waste=True),
    )


def rounds_of(worksheet: Worksheet, deck: Deck) -> tuple[Round, ...]:
    """Return where everything stands; several rounds when the deck has not room for all at once."""
    return place(items_of(worksheet), deck)


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


def _syringe(draw: Draw) -> Item:
    tip = (-SYRINGE_LENGTH / 2, Decimal(0))
    return Item(
        f"syringe {draw.number}", f"syringe {draw.number}", "box", SYRINGE_LENGTH, SYRINGE_WIDTH, site=tip
    )
