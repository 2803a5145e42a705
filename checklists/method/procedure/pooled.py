"""A final syringe that is filled from others: each is drawn and shown, then pushed over by a connector.

Of a batch, each numbered syringe goes over into the final one of its number, counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from checklists.method.batch import finals_capped, pushed_over
from checklists.method.planned import PlannedStep, ampoules_of, shown
from checklists.method.procedure.drawing import filled
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import FinalContainer, Purpose, Transfer, Worksheet

INTO_UNIT = (Purpose.DRUG, Purpose.FILL)


def is_pooled(worksheet: Worksheet) -> bool:
    """Tell whether a final syringe takes more than one draw; else the drawn syringe is itself the unit."""
    into = [draw for draw in worksheet.draws if draw.destination == "syringe 1"]
    return worksheet.final_container is FinalContainer.SYRINGE and len(into) > 1


def to_final_syringe(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Draw and show, take filter needles off, push each over; the last transfer ends capped and mixed."""
    yield from filled(worksheet, transfer.draws)
    yield shown(transfer.draws)
    if ampoules_of(worksheet, transfer.draws):
        yield PlannedStep("change_needle", {"draws": [draw.number for draw in transfer.draws], "to": "tip"})
    yield from pushed_over(worksheet, transfer.draws)
    if transfer == [one for one in worksheet.transfers if one.purpose in INTO_UNIT][-1]:
        yield finals_capped(worksheet)
        yield PlannedStep("mix", {"transfer": transfer.number})
