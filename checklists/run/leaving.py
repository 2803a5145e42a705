"""Hands that left the hood: said by one press, mended before the work goes on."""

from __future__ import annotations

from checklists.clocks import MENDS_HANDS
from checklists.run import lapsed
from checklists.run.bench import Bench, act
from checklists.run.guards import refuse_unless_in_hood, refuse_unless_working


@act
def leave_hood(bench: Bench) -> None:
    """Take down that the hands left the hood; gloves are disinfected before the next thing is touched in it.

    While a checker reads, nothing is in the way of the reading: the step comes after it.
    """
    refuse_unless_working(bench)
    step = refuse_unless_in_hood(bench)
    bench.write("leave hood", step=step.kind, place=step.place)
    if step.kind in MENDS_HANDS:
        step.started_at = bench.now
        step.save(update_fields=["started_at"])
    elif not bench.is_on_hold:
        lapsed.put_in_first(bench, step)
