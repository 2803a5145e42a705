"""How long things take in the invented past, how often they go wrong, and on which days. All invented."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from django.utils import timezone

#: Typical seconds of a kind that has no dwell of its own; every other kind takes `USUAL`. Invented.
SECONDS = {
    "read_worksheet": 45, "gather_container": 30, "gather_supplies": 60, "print_label": 20, "wipe_items": 55,
    "put_on_covers": 50, "put_on_gloves": 45, "arrange": 40, "open_ampoule": 15, "draw": 38,
    "add_diluent_to_vial": 35, "dissolve": 70, "add": 25, "mix": 20, "look": 18, "apply_label": 22,
    "dispose": 40, "hand_over": 15, "clean_up": 50, "attach_devices": 45, "seal_bag": 20,
}  # fmt: skip
USUAL = 14
#: Seconds that a check takes once it is taken, and that it waits for somebody before. Invented.
CHECKED = {"first_check": 110, "show": 25, "final_check": 70, "release": 20}
WAITED = {"first_check": 150, "show": 75, "final_check": 240, "release": 15}
#: Of how many shown draws one differs, and of how many preparations something goes wrong. Invented.
DIFFERS, WRONG = 0.006, 0.06
MISHAPS = {
    "torn-glove": "new gloves", "touched-needle": "draw again with a new syringe", "called-away": "pause",
    "broken-container": "take another container", "spill": "clean and disinfect",
}  # fmt: skip
MISHAP_WEIGHTS = (9, 6, 4, 2, 1)


def working_days(count: int) -> Iterator[date]:
    """Yield the last `count` days before today, oldest first, without Sundays."""
    today = timezone.localdate()
    for back in range(count, 0, -1):
        day = today - timedelta(days=back)
        if day.isoweekday() != 7:
            yield day
