"""The procedure: from a worksheet to the ordered steps of the work.

What is opened, its container, the final container and the policy decide the steps. `about` holds the
step's own facts: plain text, whole numbers and lists of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import (
    ContainerKind,
    Draw,
    FinalContainer,
    Purpose,
    Transfer,
    Worksheet,
)

About = dict[str, str | int | list[str] | list[int]]


@dataclass(frozen=True)
class PlannedStep:
    """One step before it is put down: its kind and its own facts."""

    kind: str
    about: About


def compose(worksheet: Worksheet, policy: Policy) -> tuple[PlannedStep, ...]:
    """Return every step of the work, from reading the worksheet to release."""
    return (
        PlannedStep("read_worksheet", {}),
        *_gather(worksheet),
        PlannedStep("first_check", {}),
        PlannedStep("wipe_items", _dwell(policy)),
        *enter_hood(policy),
        *make_ready(_sites(worksheet), policy),
        *_transfers(worksheet, policy),
        *_finish(worksheet, policy),
    )


def enter_hood(policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps that bring the work into a hood: also after a pause that took everything out."""
    return (
        PlannedStep("identify_hood", {}),
        PlannedStep("wipe_surface", _dwell(policy)),
        PlannedStep("arrange", {}),
    )


def make_ready(sites: list[str], policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps from swabbing the critical sites to disinfected gloves; then hands stay inside."""
    return (
        PlannedStep("swab_sites", {**_dwell(policy), "sites": sites}),
        PlannedStep("peel_wraps", {}),
        PlannedStep("disinfect_gloves", _dwell(policy)),
    )


def hands_back(policy: Policy) -> tuple[PlannedStep, ...]:
    """Return what comes first when hands that left a hood go in again."""
    return (PlannedStep("disinfect_gloves", _dwell(policy)),)


def draw_again(worksheet: Worksheet, numbers: Iterable[int]) -> tuple[PlannedStep, ...]:
    """Return the steps that draw some syringes a second time and show them."""
    draws = [worksheet.draw(number) for number in numbers]
    is_syringe = worksheet.final_container is FinalContainer.SYRINGE
    drawn = _draw_and_cap(worksheet, draws) if is_syringe else _draw_all(draws)
    return (*drawn, _show(draws))


def read_again(numbers: Iterable[int]) -> tuple[PlannedStep, ...]:
    """Return the step that shows the same syringes to another checker."""
    return (PlannedStep("show", {"draws": list(numbers)}),)


def sites_of(worksheet: Worksheet) -> list[str]:
    """Return the containers whose critical sites are swabbed before the first draw."""
    return _sites(worksheet)


def _gather(worksheet: Worksheet) -> Iterator[PlannedStep]:
    for container in worksheet.containers:
        yield PlannedStep("gather_container", {"container": container.key})
    yield PlannedStep("gather_supplies", {})
    yield PlannedStep("print_label", {})


def _sites(worksheet: Worksheet) -> list[str]:
    return [container.key for container in worksheet.containers]


def _transfers(worksheet: Worksheet, policy: Policy) -> Iterator[PlannedStep]:
    rules = {
        Purpose.RECONSTITUTE: _reconstitute,
        Purpose.WITHDRAW: _withdraw,
        Purpose.DRUG: _to_syringes if worksheet.final_container is FinalContainer.SYRINGE else _to_bag,
        Purpose.FILL: _to_bag,
    }
    for transfer in worksheet.transfers:
        yield from rules[transfer.purpose](worksheet, transfer, policy)


def _reconstitute(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Diluent into each powder vial, shown before it goes in: its volume fixes the strength."""
    vials = [draw.destination for draw in transfer.draws]
    yield from _draw_all(transfer.draws)
    yield _show(transfer.draws)
    for draw in transfer.draws:
        yield PlannedStep("add_diluent_to_vial", {"draw": draw.number, "container": draw.destination})
    ingredient = worksheet.ingredients[(transfer.ingredient or 1) - 1]
    unique = list(dict.fromkeys(vials))
    yield PlannedStep(
        "dissolve",
        {"containers": unique, "how": ingredient.how_to_dissolve, "seconds": ingredient.dissolve_seconds},
    )
    yield PlannedStep("swab_sites", {**_dwell(policy), "sites": unique})


def _withdraw(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    yield from _draw_all(transfer.draws)
    yield _show(transfer.draws)
    yield PlannedStep("discard_diluent", {"draws": [draw.number for draw in transfer.draws]})


def _to_bag(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Ampoules opened, everything drawn and shown, then added; a filter needle never enters the bag."""
    ampoules = _ampoules(worksheet, transfer.draws)
    yield from _open(ampoules)
    yield from _draw_all(transfer.draws)
    yield _show(transfer.draws)
    if ampoules:
        yield PlannedStep("change_needle", {"draws": [draw.number for draw in transfer.draws]})
    yield PlannedStep("swab_port", _dwell(policy))
    for draw in transfer.draws:
        yield PlannedStep("add", {"draw": draw.number})
    yield PlannedStep("mix", {"transfer": transfer.number})


def _to_syringes(worksheet: Worksheet, transfer: Transfer, policy: Policy) -> Iterator[PlannedStep]:
    """Each syringe is itself a unit: capped in its place before the next is drawn, then all are shown."""
    yield from _open(_ampoules(worksheet, transfer.draws))
    yield from _draw_and_cap(worksheet, transfer.draws)
    yield _show(transfer.draws)
    yield PlannedStep("look", {"transfer": transfer.number})


def _draw_and_cap(worksheet: Worksheet, draws: Iterable[Draw]) -> Iterator[PlannedStep]:
    for draw in draws:
        has_filter = int(bool(_ampoules(worksheet, [draw])))
        yield PlannedStep("draw", {"draw": draw.number})
        yield PlannedStep("cap_syringe", {"draw": draw.number, "has_filter_needle": has_filter})


def _finish(worksheet: Worksheet, policy: Policy) -> Iterator[PlannedStep]:
    for unit in range(1, worksheet.units + 1):
        yield PlannedStep("apply_label", {"unit": unit})
    if worksheet.protect_from_light:
        yield PlannedStep("cover_from_light", {})
    yield PlannedStep("dispose", {})
    yield PlannedStep("hand_over", {})
    yield PlannedStep("clean_up", _dwell(policy))
    yield PlannedStep("final_check", {})
    yield PlannedStep("release", {})


def _draw_all(draws: Iterable[Draw]) -> Iterator[PlannedStep]:
    for draw in draws:
        yield PlannedStep("draw", {"draw": draw.number})


def _show(draws: Iterable[Draw]) -> PlannedStep:
    return PlannedStep("show", {"draws": [draw.number for draw in draws]})


def _ampoules(worksheet: Worksheet, draws: Iterable[Draw]) -> list[str]:
    keys = dict.fromkeys(portion.container for draw in draws for portion in draw.sources)
    return [key for key in keys if worksheet.container(key).kind is ContainerKind.AMPOULE]


def _open(ampoules: Iterable[str]) -> Iterator[PlannedStep]:
    for key in ampoules:
        yield PlannedStep("open_ampoule", {"container": key})


def _dwell(policy: Policy) -> About:
    return {"seconds": policy.alcohol_dry_seconds}
