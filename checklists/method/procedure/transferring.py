"""The measured transfers: drawn, shown, and only then added; each purpose and container its own way."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from checklists.method.batch import added_to
from checklists.method.planned import PlannedStep, ampoules_of, drying, shown
from checklists.method.procedure.drawing import filled, swabbed_again
from checklists.method.procedure.pooled import is_pooled, to_final_syringe
from checklists.method.procedure.syringes import to_syringes
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import FinalContainer, Purpose, Transfer, Worksheet

Rule = Callable[[Worksheet, Transfer, Policy], Iterator[PlannedStep]]


def transferred(worksheet: Worksheet, policy: Policy) -> Iterator[PlannedStep]:
    """Return the steps of every transfer, in the order of the work; a site is swabbed anew for each."""
    into_unit = _into_unit(worksheet)
    rules: dict[Purpose, Rule] = {
        Purpose.RECONSTITUTE: _reconstitute,
        Purpose.WITHDRAW: _withdraw,
        Purpose.DRUG: into_unit,
        Purpose.FILL: into_unit,
    }
    pierced: set[str] = set()
    for transfer in worksheet.transfers:
        sources = [portion.container for draw in transfer.draws for portion in draw.sources]
        yield from swabbed_again(worksheet, [key for key in sources if key in pierced], policy)
        yield from rules[transfer.purpose](worksheet, transfer, policy)
        pierced.update(sources)


def _into_unit(worksheet: Worksheet) -> Rule:
    """Return how what is drawn gets into the finished unit."""
    if is_pooled(worksheet):
        return to_final_syringe
    return to_syringes if worksheet.final_container is FinalContainer.SYRINGE else _to_bag


def _reconstitute(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Diluent into each powder vial, shown before it goes in: its volume fixes the strength."""
    vials = [draw.destination for draw in transfer.draws]
    yield from filled(worksheet, transfer.draws)
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
    yield from filled(worksheet, transfer.draws)
    yield shown(transfer.draws)
    yield PlannedStep("discard_diluent", {"draws": [draw.number for draw in transfer.draws]})


def _to_bag(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Ampoules opened, everything drawn and shown, then added; a filter needle never enters the bag."""
    yield from filled(worksheet, transfer.draws)
    yield shown(transfer.draws)
    if ampoules_of(worksheet, transfer.draws):
        yield PlannedStep("change_needle", {"draws": [draw.number for draw in transfer.draws]})
    ports = list(dict.fromkeys(draw.destination for draw in transfer.draws))
    yield PlannedStep("swab_port", {**drying(policy), "sites": ports})
    yield from added_to(worksheet, transfer.draws)
    yield PlannedStep("mix", {"transfer": transfer.number})
