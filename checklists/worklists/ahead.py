"""The steps ahead, as a tablet keeps them while it has its preparation open: for its technician alone.

A step that waits for the network is kept by its name and the reason; its amounts never are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from checklists.method.away import Away
from checklists.method.step_kinds import row_of
from checklists.models import Person, Preparation, Step
from checklists.worklists import bench
from checklists.worklists.away import why
from checklists.worklists.screens import StepScreen
from checklists.worklists.words import STEP_NAMES


@dataclass(frozen=True)
class StepAhead:
    """One step ahead: what the device decides by; its screen only where it goes on."""

    facts: dict[str, Any]
    screen: StepScreen | None


@dataclass(frozen=True)
class Pack:
    """Every step from the one that the work has come to; `waits`: the screen of any that waits."""

    facts: dict[str, Any]
    waits: StepScreen
    steps: tuple[StepAhead, ...]


def pack(preparation: Preparation, person: Person) -> Pack | None:
    """Return the steps ahead for the technician who is at it; None for anybody else, and while it is held."""
    is_theirs = preparation.state == Preparation.State.IN_WORK and preparation.technician_id == person.pk
    if not is_theirs or preparation.holds.filter(resolved_at=None).exists():
        return None
    waits, ahead = bench.screens_ahead(preparation, person)
    facts = {
        "code": preparation.code,
        "person": str(person.pk),
        "plan": waits.away.plan if waits.away else "",
        "now": timezone.now().isoformat(),
    }
    return Pack(facts, waits, tuple(_step(step, goes, screen) for step, goes, screen in ahead))


def _step(step: Step, goes: Away, screen: StepScreen | None) -> StepAhead:
    facts = {
        "place": step.place,
        "goes": goes.value,
        "isInHood": row_of(step).is_in_hood,
        "name": str(STEP_NAMES[step.kind]),
        "why": why(step),
    }
    return StepAhead(facts, screen)
