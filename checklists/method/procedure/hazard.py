"""Hazardous drugs: closed from the vial to the bag, wiped before they leave, cleaned after in four acts.

Source: USP <800> as standards.md section 2 gives it: closed transfer device, luer-lock, mat, outer gloves
changed, the outside wiped, a sealed transport bag; deactivate, decontaminate, clean, disinfect.
"""

from __future__ import annotations

from collections.abc import Iterator

from checklists.method.planned import PlannedStep, drying
from checklists.method.procedure.garbing import new_gloves
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import ContainerKind, Worksheet

CLOSED = (ContainerKind.SOLUTION_VIAL, ContainerKind.POWDER_VIAL, ContainerKind.BAG)


def devices(worksheet: Worksheet) -> Iterator[PlannedStep]:
    """Return the step that closes each vial and bag; an ampoule and a prefilled syringe take no device."""
    keys = [one.key for one in worksheet.containers if one.kind in CLOSED]
    if worksheet.hazardous and keys:
        yield PlannedStep("attach_devices", {"containers": keys})


def leaving(worksheet: Worksheet, policy: Policy) -> Iterator[PlannedStep]:
    """Return what is done before a hazardous unit leaves the hood: wiped outside, then clean gloves."""
    if worksheet.hazardous:
        yield PlannedStep("wipe_outside", drying(policy))
        yield from new_gloves(policy)


def sealed(worksheet: Worksheet) -> Iterator[PlannedStep]:
    """Return the step that seals a labelled hazardous unit for its way."""
    if worksheet.hazardous:
        yield PlannedStep("seal_bag", {})


def cleaned(worksheet: Worksheet, policy: Policy) -> Iterator[PlannedStep]:
    """Return what comes before the surface is disinfected, each agent for its own time."""
    if worksheet.hazardous:
        yield PlannedStep("deactivate", {"seconds": policy.deactivate_seconds})
        yield PlannedStep("decontaminate", {"seconds": policy.decontaminate_seconds})
        yield PlannedStep("clean_surface", {"seconds": policy.clean_seconds})
