"""How much is in a container at any point of the work, as the worksheet has it."""

from __future__ import annotations

from compounding.reckoning.quantities import Quantity, of
from compounding.reckoning.worksheet import ContainerKind, Worksheet

NOTHING = of(0, "mL")


def content(worksheet: Worksheet, key: str, drawn: int, added: int) -> Quantity:
    """Return what is in a container, in mL, once draws up to `drawn` were drawn and up to `added` added.

    A powder vial holds what was added to it; a bag's overfill and a vial's are not counted, and nothing
    falls below zero.
    """
    left = held_at_first(worksheet, key)
    for draw in worksheet.draws:
        if draw.number <= drawn:
            left -= sum((one.volume for one in draw.sources if one.container == key), NOTHING)
        if draw.number <= added and draw.destination == key:
            left += draw.target
    return max(left, NOTHING)


def held_at_first(worksheet: Worksheet, key: str) -> Quantity:
    """Return what is in a container when the work begins: nothing in a powder vial or an empty bag."""
    container = next((one for one in worksheet.containers if one.key == key), None)
    if container is None or container.volume is None or container.kind is ContainerKind.POWDER_VIAL:
        return NOTHING
    return container.volume


def most_held(worksheet: Worksheet, key: str) -> Quantity:
    """Return the most that is in a container at any point of the work."""
    numbers = [0, *(draw.number for draw in worksheet.draws)]
    in_turn = (content(worksheet, key, number, number) for number in numbers)
    return max(held_at_first(worksheet, key), *in_turn, of("0.1", "mL"))
