"""Into the hood: its plate, its surface, the arrangement; sites swabbed, wraps peeled, gloves disinfected."""

from __future__ import annotations

from checklists.method.planned import PlannedStep, drying
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet


def enter_hood(policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps that bring the work into a hood: also after a pause that took everything out."""
    return (
        PlannedStep("identify_hood", {}),
        PlannedStep("wipe_surface", drying(policy)),
        PlannedStep("arrange", {}),
    )


def make_ready(sites: list[str], policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps from swabbing the critical sites to disinfected gloves; then hands stay inside."""
    return (
        PlannedStep("swab_sites", {**drying(policy), "sites": sites}),
        PlannedStep("peel_wraps", {}),
        PlannedStep("disinfect_gloves", drying(policy)),
    )


def hands_back(policy: Policy) -> tuple[PlannedStep, ...]:
    """Return what comes first when hands that left a hood go in again."""
    return (PlannedStep("disinfect_gloves", drying(policy)),)


def sites_of(worksheet: Worksheet) -> list[str]:
    """Return the containers whose critical sites are swabbed before the first draw."""
    return [container.key for container in worksheet.containers]
