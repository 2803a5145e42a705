"""The drawn amount: declared with hands in the hood, at the mark or elsewhere."""

from __future__ import annotations

from collections.abc import Mapping

from checklists.method import plunger
from checklists.models import Reading, Step
from checklists.refusals import ByPlunger
from checklists.remains import next_attempt
from checklists.run import lapsed, opened, sharing
from checklists.run.bench import Bench
from checklists.run.typed import volume_typed
from compounding.reckoning.quantities import number_in, write


def read_draw(bench: Bench, step: Step, given: Mapping[str, str]) -> dict[str, object]:
    """Keep what the technician declares: the plunger stands at the mark, or at another number of mL."""
    draw = bench.worksheet.draw(int(step.about["draw"]))
    sharing.refuse_fallen(bench, draw.number)
    is_at_mark = bool(given.get("stands"))
    if is_at_mark and plunger.is_asked(bench.worksheet, draw.number, bench.policy):
        raise ByPlunger()
    volume = draw.target if is_at_mark else volume_typed(given.get("volume", ""), draw.syringe.size)
    reading = Reading.objects.create(
        preparation=bench.preparation,
        draw=draw.number,
        attempt=next_attempt(bench.preparation, draw.number),
        volume_ml=number_in(volume, "mL"),
        is_at_mark=is_at_mark,
        person=bench.person,
        at=bench.now,
    )
    facts: dict[str, object] = {"drawn": write(volume), "at_mark": is_at_mark}
    over = lapsed.names_over(bench)
    if over:
        facts["lapsed"] = over
    bench.write("draw", draw=draw.number, attempt=reading.attempt, **facts)
    opened.note_draw(bench, draw.number)
    return {"draw": draw.number, "attempt": reading.attempt}
