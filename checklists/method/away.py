"""Without a network: which steps a tablet lets its technician finish alone, and which wait.

A step goes on alone when nobody but the technician has anything to judge: it is done, and said to be done.
What the program looks up, counts, prints or times waits, and so does what is compared with another's amount.
A step that must last goes on only if its time began while the program could see it begin.
"""

from __future__ import annotations

from enum import StrEnum

from checklists.method.step_kinds import Actor, OfAKind, Takes, row_of

#: Acts in the record: a step sent later that could not stand, and one that another device had sent before.
REFUSED, TWICE = "kept step refused", "kept step done already"


class Away(StrEnum):
    """How a step stands without a network."""

    GOES_ON = "on"
    GOES_ON_WHEN_OVER = "over"
    WAITS = "waits"


#: How a maker's step stands without a network, by what finishing it takes.
AWAY: dict[Takes, Away] = {
    Takes.NOTHING: Away.GOES_ON,
    Takes.DWELL: Away.GOES_ON_WHEN_OVER,
    Takes.PRINT: Away.WAITS,
    Takes.SCAN_CONTAINER: Away.WAITS,
    Takes.SCAN_HOOD: Away.WAITS,
    Takes.SCAN_LABEL: Away.WAITS,
    Takes.READING: Away.WAITS,
    Takes.COUNTS: Away.WAITS,
    Takes.WITNESS: Away.WAITS,
    Takes.RECALCULATION: Away.WAITS,
    Takes.SIGHTING: Away.WAITS,
    Takes.INSPECTION: Away.WAITS,
    Takes.SIGNATURE: Away.WAITS,
}


def away_of(step: OfAKind) -> Away:
    """Return how the step stands without a network. A checker's waits, and so does one done unit by unit."""
    kind = row_of(step)
    return Away.WAITS if kind.actor is Actor.CHECKER or kind.is_counted else AWAY[kind.takes]
