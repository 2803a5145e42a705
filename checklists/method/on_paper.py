"""Work done on paper in a downtime: the names of what is copied from its sheets."""

from __future__ import annotations

#: The act by which it is entered. Its entry holds everything that the paper says.
ACT = "enter from paper"
#: Who did what on paper, and the role it takes.
PARTS = {"made_by": "technician", "seen_by": "pharmacist", "released_by": "pharmacist"}
#: The three amounts, in the order of their fields.
KINDS = ("required", "drawn", "seen")


def lot_field(number: int) -> str:
    """Return the name of a container's field, by its number on the worksheet."""
    return f"lot-{number}"


def amount_field(kind: str, draw: int) -> str:
    """Return the name of an amount's field: `drawn-2`."""
    return f"{kind}-{draw}"
