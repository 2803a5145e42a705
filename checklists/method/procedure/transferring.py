"""The measured transfers: drawn, shown, and only then added; each purpose and container its own way."""

from __future__ import annotations

from collections.abc import Iterator

from checklists.method.batch import added_to, drawn_for
from checklists.method.planned import PlannedStep, ampoules_of, drawn, drying, opened, shown
from checklists.method.procedure.syringes import to_syringes
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import FinalContainer, Purpose, Transfer, Worksheet


def transferred(worksheet: Worksheet, policy: Policy) -> Iterator[PlannedStep]:
    """Return the steps of every transfer, in the order of the work."""
    rules = {
        Purpose.RECONSTITUTE: _reconstitute,
        Purpose.WITHDRAW: _withdraw,
        Purpose.DRUG: to_syringes if worksheet.final_container is FinalContainer.SYRINGE else _to_bag,
        Purpose.FILL: _to_bag,
    }
    for transfer in worksheet.transfers:
        yield from rules[transfer.purpose](worksheet, transfer, policy)


def _reconstitute(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Diluent into each powder vial, shown before it goes in: its volume fixes the strength."""
    vials = [draw.destination for draw in transfer.draws]
    yield from drawn(transfer.draws)
    yield shown(transfer.draws)
    for draw in transfer.draws:
        yield PlannedStep("add_diluent_to_vial", {"draw": draw.number, "container": draw.destination})
    ingredient = worksheet.ingredients[(transfer.ingredient or 1) - 1]
    unique = list(dict.fromkeys(vials))
    yield PlannedStep(
        "dissolve",
        {"containers": unique, "how": ingredient.how_to_dissolve, "seconds": ingredient.dissolve_seconds},
    )
    yield PlannedStep("swab_sites", {**drying(policy), "sites": unique})


def _withdraw(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    yield from drawn_for(worksheet, transfer.draws)
    yield shown(transfer.draws)
    yield PlannedStep("discard_diluent", {"draws": [draw.number for draw in transfer.draws]})


def _to_bag(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Ampoules opened, everything drawn and shown, then added; a filter needle never enters the bag."""
    ampoules = ampoules_of(worksheet, transfer.draws)
    yield from opened(ampoules)
    yield from drawn_for(worksheet, transfer.draws)
    yield shown(transfer.draws)
    if ampoules:
        yield PlannedStep("change_needle", {"draws": [draw.number for draw in transfer.draws]})
    yield PlannedStep("swab_port", drying(policy))
    yield from added_to(worksheet, transfer.draws)
    yield PlannedStep("mix", {"transfer": transfer.number})
