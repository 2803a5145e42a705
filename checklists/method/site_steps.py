"""Steps of the site's own: put into a composed procedure before or after a stage, without code.

They stand at the edge of a stage, never within one, so that no rule of order is broken: nothing comes between
a draw and its showing, or after the hood is freed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from checklists.method.planned import About, PlannedStep
from checklists.method.step_kinds import Stage, row_of

#: Before the worksheet is read there is no work; once the hood is freed the technician has left it.
NEVER_BEFORE = (Stage.RECKON, Stage.RELEASE)
NEVER_AFTER = (Stage.HAND_OVER, Stage.RELEASE)


@dataclass(frozen=True)
class SiteStep:
    """One step of the site's own. `seconds`: how long it lasts at least, 0 for no matter how long."""

    text: str
    why: str
    stage: Stage
    is_before: bool
    seconds: int = 0

    @property
    def edge(self) -> str:
        """Return where it stands: `before draw`, `after add`."""
        return f"{'before' if self.is_before else 'after'} {self.stage.value}"

    @property
    def may_be(self) -> bool:
        """Tell whether a step may stand at that edge of that stage."""
        return self.stage not in (NEVER_BEFORE if self.is_before else NEVER_AFTER)


def with_site_steps(steps: Sequence[PlannedStep], own: Sequence[SiteStep]) -> tuple[PlannedStep, ...]:
    """Return the procedure with the site's steps, in their order, at the edges of their stages.

    A stage that comes more than once has its edges before its first step and after its last.
    """
    found = list(steps)
    for one in own:
        at = _place(found, one)
        if at is not None and one.may_be:
            found.insert(at, _planned(one))
    return tuple(found)


def _place(steps: Sequence[PlannedStep], one: SiteStep) -> int | None:
    """Return where the step goes: at its edge, behind the site's earlier steps there."""
    beside = [at for at, step in enumerate(steps) if step.about.get("edge") == one.edge]
    if beside:
        return beside[-1] + 1
    of_stage = [
        at for at, step in enumerate(steps) if "edge" not in step.about and row_of(step).stage is one.stage
    ]
    if not of_stage:
        return None
    return of_stage[0] if one.is_before else of_stage[-1] + 1


def _planned(one: SiteStep) -> PlannedStep:
    about: About = {
        "text": one.text,
        "why": one.why,
        "stage": one.stage.value,
        "edge": one.edge,
        "seconds": one.seconds,
    }
    return PlannedStep("site_step", about)
