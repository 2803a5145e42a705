"""What somebody typed: a volume in mL, read strictly, no more than the syringe holds; a reason."""

from __future__ import annotations

from checklists.refusals import MoreThanSyringe, NoReason, NothingTyped, ReasonNotWords, ReasonTooLong
from compounding.reckoning.quantities import Quantity, number_in, read_number, write

#: Characters that the record keeps of a reason, as its columns do. A dwell's and a label's are shorter.
LONGEST_REASON = 500
SHORT_REASON = 300


def volume_typed(text: str, most: Quantity) -> Quantity:
    """Return the volume typed, in mL. Refuses what is no number, and more than `most`."""
    if not text.strip():
        raise NothingTyped()
    volume = read_number(text, "mL")
    if number_in(volume, "mL") > number_in(most, "mL"):
        raise MoreThanSyringe(typed=write(volume), most=write(most))
    return volume


def reason_typed(text: str, most: int = LONGEST_REASON) -> str:
    """Return a reason as it is kept: whole or not at all. Refuses none, a long one, an unprintable one."""
    reason = text.replace("\r\n", "\n").strip()
    if not reason:
        raise NoReason()
    if len(reason) > most:
        raise ReasonTooLong(most=str(most))
    if not reason.replace("\n", "").replace("\t", "").isprintable():
        raise ReasonNotWords()
    return reason
