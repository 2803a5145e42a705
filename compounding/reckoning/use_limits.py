"""The longest beyond-use dates of USP <797> (2023), as data.

`mark` says whether the row was read in a page or remembered; the standard's own text was not at hand.
"""

from __future__ import annotations

from dataclasses import dataclass

STORAGES = {"room": "room temperature", "fridge": "fridge", "freezer": "freezer"}


@dataclass(frozen=True)
class UseLimit:
    """One row: for which preparations, and how many hours at room temperature, in fridge and freezer.

    None in a condition stands for either; None for hours means the storage is not allowed.
    """

    name: str
    category: int
    method: str | None
    tested: bool | None
    only_sterile: bool | None
    room: int | None
    fridge: int | None
    freezer: int | None
    source: str

    def hours(self, storage: str) -> int | None:
        """Return the limit in hours for "room", "fridge" or "freezer", None where it is not allowed."""
        return {"room": self.room, "fridge": self.fridge, "freezer": self.freezer}[storage]

    def covers(self, method: str, is_tested: bool, is_only_sterile: bool) -> bool:
        """Tell whether a preparation of this row's category made so falls under this row."""
        asked = ((self.method, method), (self.tested, is_tested), (self.only_sterile, is_only_sterile))
        return all(condition is None or condition == fact for condition, fact in asked)


def _days(*days: int) -> tuple[int, int, int]:
    room, fridge, freezer = days
    return room * 24, fridge * 24, freezer * 24


_TWO = "USP <797> 2023, Category 2 limits"
_THREE = "USP <797> 2023, Category 3 limits"

USE_LIMITS = (
    UseLimit(
        "Category 1", 1, None, None, None, 12, 24, None,
        "USP <797> 2023, Category 1 limits (page; freezer from memory)",
    ),
    UseLimit(
        "Category 2, aseptic, not sterility tested, a nonsterile starting part",
        2, "aseptic", False, False, *_days(1, 4, 45), f"{_TWO} (page)",
    ),
    UseLimit(
        "Category 2, aseptic, not sterility tested, only sterile parts",
        2, "aseptic", False, True, *_days(4, 10, 45), f"{_TWO} (page)",
    ),
    UseLimit(
        "Category 2, aseptic, sterility tested",
        2, "aseptic", True, None, *_days(30, 45, 60), f"{_TWO} (page; fridge and freezer from memory)",
    ),
    UseLimit(
        "Category 2, terminally sterilised, not sterility tested",
        2, "terminal", False, None, *_days(14, 28, 45), f"{_TWO} (memory)",
    ),
    UseLimit(
        "Category 2, terminally sterilised, sterility tested",
        2, "terminal", True, None, *_days(45, 60, 90), f"{_TWO} (memory)",
    ),
    UseLimit(
        "Category 3, aseptic, sterility tested",
        3, "aseptic", True, None, *_days(60, 90, 120), f"{_THREE} (page)",
    ),
    UseLimit(
        "Category 3, terminally sterilised, sterility tested",
        3, "terminal", True, None, *_days(90, 120, 180), f"{_THREE} (page)",
    ),
)  # fmt: skip


def limits_for(category: int, method: str, is_tested: bool, is_only_sterile: bool) -> UseLimit | None:
    """Return the row for a preparation, None where the table has none (Category 3 without a test)."""
    rows = (row for row in USE_LIMITS if row.category == category)
    return next((row for row in rows if row.covers(method, is_tested, is_only_sterile)), None)
