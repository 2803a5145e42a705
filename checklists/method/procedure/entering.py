"""Into the hood: its plate, its surface, the arrangement; then critical sites and gloves."""

from __future__ import annotations

from checklists.method.planned import PlannedStep, drying
from checklists.method.procedure.drawing import SWABBED
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet


def enter_hood(policy: Policy, *, hazardous: bool = False) -> tuple[PlannedStep, ...]:
    """Return the steps that bring the work into a hood: also after a pause that took everything out."""
    return (
        PlannedStep("identify_hood", {}),
        PlannedStep("wipe_surface", drying(policy)),
        *((PlannedStep("lay_mat", {}),) if hazardous else ()),
        PlannedStep("arrange", {}),
    )


def make_ready(sites: list[str], policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps from swabbing the critical sites to disinfected gloves; then hands stay inside."""
    swabbed = (PlannedStep("swab_sites", {**drying(policy), "sites": sites}),) if sites else ()
    return (
        *swabbed,
        PlannedStep("peel_wraps", {}),
        PlannedStep("disinfect_gloves", drying(policy)),
    )


def hands_back(policy: Policy) -> tuple[PlannedStep, ...]:
    """Return what comes first when hands that left a hood go in again."""
    return (PlannedStep("disinfect_gloves", drying(policy)),)


def sites_of(worksheet: Worksheet) -> list[str]:
    """Return the containers whose critical sites are swabbed before the first draw: all that is drawn from.

    The port of a bag that is only added to is swabbed just before.
    """
    drawn = {portion.container for draw in worksheet.draws for portion in draw.sources}
    return [one.key for one in worksheet.containers if one.kind in SWABBED and one.key in drawn]
