"""Release: a signed act that the gate must let through."""

from __future__ import annotations

from checklists.gate import blockers
from checklists.method.step_kinds import Takes
from checklists.models import Preparation
from checklists.refusals import NotReleasable, OutOfOrder
from checklists.run.bench import Bench, act
from checklists.run.pins import TriedPin
from checklists.run.signing import RELEASES, refuse_wrong_pin


@act
def release(bench: Bench, *, pin: TriedPin) -> None:
    """Release the preparation. Every reason why not is named; none can be overruled here."""
    preparation = bench.preparation
    reasons = blockers(preparation, bench.person, bench.now)
    if reasons:
        raise NotReleasable(reasons=reasons)
    refuse_wrong_pin(pin)
    step = bench.step
    if step is None or bench.kind(step).takes is not Takes.SIGNATURE:
        raise OutOfOrder()
    bench.write("release", meaning=RELEASES)
    bench.finish(step)
    preparation.state, preparation.ended_at = Preparation.State.RELEASED, bench.now
    preparation.save(update_fields=["state", "ended_at"])
