"""The tally of a batch: what the tables know of its units and labels, beside what a person counted."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from checklists.counting import live_units
from checklists.method.batch import draws_of_units
from checklists.method.reconciling import Tally
from checklists.models import Preparation
from checklists.remains import Remains
from compounding.reckoning.worksheet import Worksheet


@dataclass(frozen=True)
class Count:
    """What was counted by hand at the last reconciliation, by whom and when."""

    in_hand: int
    destroyed: int
    by: str
    at: datetime


def last_count(preparation: Preparation) -> Count | None:
    """Return the last reconciliation, as its entry holds it; None before any."""
    entry = preparation.entries.filter(act="reconcile").select_related("person").last()
    if entry is None:
        return None
    try:
        facts = json.loads(entry.text)["facts"]
        return Count(int(facts["in_hand"]), int(facts["destroyed"]), entry.person.name, entry.at)
    except (ValueError, KeyError, TypeError):  # an entry that was tampered with: the gate says so
        return None


def tally(preparation: Preparation, worksheet: Worksheet, *, in_hand: int, destroyed: int) -> Tally:
    """Return the batch as it stands now, with what was counted by hand."""
    live = live_units(preparation, worksheet)
    drawn = set(preparation.readings.values_list("draw", flat=True))
    last = {label.unit: label for label in preparation.labels.order_by("print_number")}
    return Tally(
        planned=worksheet.units,
        rejected=worksheet.units - len(live),
        drawn=sum(draws_of_units(worksheet, [unit]) <= drawn for unit in live),
        labelled=sum(unit in last and last[unit].scanned_back_at is not None for unit in live),
        printed=preparation.labels.count(),
        in_hand=in_hand,
        destroyed=destroyed,
        remaining=tuple(_remaining(preparation)),
    )


def _remaining(preparation: Preparation) -> Iterator[tuple[str, Decimal]]:
    """Yield what is left of each product that was drawn from, by its label; overfill is not known."""
    remains = Remains(preparation)
    left: dict[str, Decimal] = defaultdict(Decimal)
    gone = remains.gone()
    for key in remains.scanned:
        if not remains.is_bag(key):
            name = remains.worksheet.container(remains.likes.get(key, key)).name
            left[name] += remains.holds[key] - gone.get(key, Decimal(0))
    yield from left.items()
