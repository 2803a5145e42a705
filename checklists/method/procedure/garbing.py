"""Hand hygiene and garb: covers, hands washed, gown and alcohol rub, gloves; and gloves changed in the hood.

Order: hair, face and shoe covers before hands are washed for at least 30 s, gown and rub before gloves (USP
<797> 2023, memory). Two pairs of outer gloves, the second put on in the work: hazardous drugs (USP <800>,
memory).
"""

from __future__ import annotations

from checklists.method.planned import PlannedStep, drying
from compounding.reckoning.policy import Policy


def garb(policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps from the street to gloves, in their order."""
    return (
        PlannedStep("put_on_covers", {}),
        PlannedStep("wash_hands", {"seconds": policy.hand_wash_seconds}),
        PlannedStep("rub_hands", {"seconds": policy.hand_rub_seconds}),
        PlannedStep("put_on_gloves", {}),
    )


def new_gloves(policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps that change (outer) gloves inside the hood: torn, worn for too long, or soiled."""
    return (PlannedStep("change_gloves", {}), PlannedStep("disinfect_gloves", drying(policy)))
