"""Every rule at once: what a procedure breaches, and which of its steps no rule would miss."""

from __future__ import annotations

from checklists.method.planned import PlannedStep
from checklists.method.step_kinds import KINDS
from compounding.reckoning.worksheet import Worksheet
from tests.method.one_by_one import one_by_one
from tests.method.rules_of_drawing import DRAW_RULES
from tests.method.rules_of_hazard import HAZARD_RULES
from tests.method.rules_of_order import RULES, Steps

EVERY_RULE = (*RULES, *DRAW_RULES, *HAZARD_RULES)
#: Put in only after a mishap: no procedure is composed with them.
PUT_IN = {"restart_hood", "clean_spill"}
#: Every kind but a site's own step, whose meaning the program does not know, keeps somebody safe.
SAFETY = set(KINDS) - PUT_IN - {"site_step"}


def breaches(worksheet: Worksheet, steps: Steps) -> list[str]:
    """Return every breach of every rule, with the rule's name."""
    single = tuple(one for step in steps for one in one_by_one(step, worksheet))
    return [f"{rule.__name__}: {found}" for rule in EVERY_RULE for found in rule(worksheet, single)]


def needless(worksheet: Worksheet, steps: tuple[PlannedStep, ...]) -> list[PlannedStep]:
    """Return the steps that may be left out without any rule noticing."""
    return [
        step
        for at, step in enumerate(steps)
        if step.kind in SAFETY and not breaches(worksheet, (*steps[:at], *steps[at + 1 :]))
    ]
