"""Steps that must last: alcohol drying, powder dissolving. The server's clock judges."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from checklists.models import Step
from checklists.refusals import TooEarly
from checklists.run.bench import Bench
from checklists.run.typed import SHORT_REASON, reason_typed


def seconds_left(step: Step, now: datetime) -> int:
    """Return how many whole seconds of the step's dwell are left at `now`."""
    if step.started_at is None:
        return int(step.about["seconds"])
    passed = int((now - step.started_at).total_seconds())
    return max(0, int(step.about["seconds"]) - passed)


def dwelt(bench: Bench, step: Step, given: Mapping[str, str]) -> dict[str, object]:
    """Let the step end when its time has passed, or earlier with a reason that is recorded."""
    left, typed = seconds_left(step, bench.when), given.get("reason", "")
    if not left:
        return {}
    if not typed.strip():
        raise TooEarly(left=str(left))
    return {"left": left, "reason": reason_typed(typed, SHORT_REASON)}
