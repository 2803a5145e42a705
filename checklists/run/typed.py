"""A volume as somebody typed it on a keypad: mL, read strictly, and no more than the syringe holds."""

from __future__ import annotations

from checklists.refusals import MoreThanSyringe, NothingTyped
from compounding.reckoning.quantities import Quantity, number_in, read_number, write


def volume_typed(text: str, most: Quantity) -> Quantity:
    """Return the volume typed, in mL. Refuses what is no number, and more than `most`."""
    if not text.strip():
        raise NothingTyped()
    volume = read_number(text, "mL")
    if number_in(volume, "mL") > number_in(most, "mL"):
        raise MoreThanSyringe(typed=write(volume), most=write(most))
    return volume
