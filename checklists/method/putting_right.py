"""The steps that put right what went wrong: new gloves, a spill, a hood that stopped, drawing anew.

Common practice, no source, but for warm-up and hand hygiene: USP <797> (2023), memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from checklists.method.allotting import Allotment
from checklists.method.planned import PlannedStep, drying, shown
from checklists.method.procedure import draw_again, garb
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import write
from compounding.reckoning.worksheet import ContainerKind, Purpose


@dataclass(frozen=True)
class Scene:
    """How far the work has come: what the steps put in must do anew, and what is still to come anyway."""

    is_wiped: bool
    is_swabbed: bool
    #: The draw whose own step the work stands at: that step draws it anew.
    at_draw: int = 0
    #: Draws that were shown: drawn anew they are shown anew.
    shown: frozenset[int] = frozenset()
    #: Draws that are out of their syringe: diluent in its vial, or withdrawn diluent in the waste.
    used: frozenset[int] = frozenset()
    #: Draws whose filter needle was changed already, and ampoules that were opened.
    changed: frozenset[int] = frozenset()
    opened: frozenset[str] = frozenset()
    is_port_swabbed: bool = False


def new_gloves(policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps after a torn glove: hands washed and rubbed, new gloves, disinfected."""
    _covers, *hands = garb(policy)
    return (*hands, PlannedStep("disinfect_gloves", drying(policy)))


def after_spill(sites: list[str], is_swabbed: bool, policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps after a spill: taken up, surface disinfected, gloves, and every site swabbed anew."""
    again = (
        PlannedStep("disinfect_gloves", drying(policy)),
        PlannedStep("swab_sites", {**drying(policy), "sites": sites}),
    )
    return (
        PlannedStep("clean_spill", {}),
        PlannedStep("wipe_surface", drying(policy)),
        *(again if is_swabbed else ()),
    )


def after_stop(sites: list[str], is_swabbed: bool, policy: Policy) -> tuple[PlannedStep, ...]:
    """Return the steps after a hood stood still: running again, warm, and from its surface on anew."""
    again = (
        PlannedStep("disinfect_gloves", drying(policy)),
        PlannedStep("swab_sites", {**drying(policy), "sites": sites}),
    )
    return (
        PlannedStep("restart_hood", {}),
        PlannedStep("identify_hood", {}),
        PlannedStep("wipe_surface", drying(policy)),
        *(again if is_swabbed else ()),
    )


def vials_anew(allotment: Allotment, scene: Scene) -> list[int]:
    """Return the draws of diluent that further powder vials need: those whose first went into the old one."""
    likes = set(allotment.furthers.values())
    return [
        draw.number
        for transfer in allotment.stock.worksheet.transfers
        if transfer.purpose is Purpose.RECONSTITUTE
        for draw in transfer.draws
        if draw.destination in likes and draw.number in scene.used
    ]


def drawn_anew(
    allotment: Allotment, lost: list[int], diluents: list[int], scene: Scene, policy: Policy
) -> tuple[PlannedStep, ...]:
    """Return the steps that gather further containers and draw anew what was lost, up to where it was."""
    gather = [
        PlannedStep("gather_container", {"container": key, "like": like})
        for key, like in allotment.furthers.items()
    ]
    if not scene.is_wiped:
        return tuple(gather)
    fresh = [*diluents, *lost]
    items = [*allotment.furthers, *(_syringe(allotment, number) for number in fresh)]
    wipe = [PlannedStep("wipe_items", {**drying(policy), "items": items})] if items else []
    if not scene.is_swabbed:
        return (*gather, *wipe)
    return (
        *gather,
        *wipe,
        *_ready(allotment, fresh, policy),
        *_vials(allotment, diluents, policy),
        *_ampoules(allotment, scene),
        *_draws(allotment, lost, scene, policy),
    )


def _syringe(allotment: Allotment, number: int) -> str:
    return f"a new {write(allotment.stock.worksheet.draw(number).syringe.size)} syringe with needle"


def _ready(allotment: Allotment, fresh: list[int], policy: Policy) -> Iterator[PlannedStep]:
    if fresh:
        yield PlannedStep("peel_wraps", {"draws": fresh})
    yield PlannedStep("disinfect_gloves", drying(policy))
    sources = [key for number in fresh for key in allotment.sources(number)]
    sites = list(dict.fromkeys((*allotment.furthers, *sources)))
    yield PlannedStep("swab_sites", {**drying(policy), "sites": sites})


def _vials(allotment: Allotment, diluents: list[int], policy: Policy) -> Iterator[PlannedStep]:
    """Make further powder vials ready to be drawn from: diluent drawn, shown, added, dissolved."""
    worksheet = allotment.stock.worksheet
    vials: dict[str, list[int]] = {}
    for number in diluents:
        like = worksheet.draw(number).destination
        key = next(key for key, other in allotment.furthers.items() if other == like)
        vials.setdefault(key, []).append(number)
    for key, numbers in vials.items():
        draws = [worksheet.draw(number) for number in numbers]
        yield from (PlannedStep("draw", {"draw": number}) for number in numbers)
        yield shown(draws)
        for number in numbers:
            yield PlannedStep("add_diluent_to_vial", {"draw": number, "container": key})
        ingredient = worksheet.ingredients[(worksheet.transfer_of(numbers[0]).ingredient or 1) - 1]
        how, seconds = ingredient.how_to_dissolve, ingredient.dissolve_seconds
        yield PlannedStep("dissolve", {"containers": [key], "how": how, "seconds": seconds})
        yield PlannedStep("swab_sites", {**drying(policy), "sites": [key]})


def _ampoules(allotment: Allotment, scene: Scene) -> Iterator[PlannedStep]:
    """Open further ampoules whose like stands open; the others' own steps are still to come."""
    for key, like in allotment.furthers.items():
        is_ampoule = allotment.stock.worksheet.container(like).kind is ContainerKind.AMPOULE
        if is_ampoule and like in scene.opened:
            yield PlannedStep("open_ampoule", {"container": key})


def _draws(allotment: Allotment, lost: list[int], scene: Scene, policy: Policy) -> Iterator[PlannedStep]:
    """Draw anew what was lost, but for the draw whose own step comes next; show anew what was shown."""
    worksheet = allotment.stock.worksheet
    again = [number for number in lost if number != scene.at_draw]
    seen = [number for number in again if number in scene.shown]
    yield from (step for step in draw_again(worksheet, again) if step.kind != "show")
    if seen:
        yield PlannedStep("show", {"draws": seen})
    withdrawn = [number for number in seen if number in scene.used]
    if withdrawn:
        yield PlannedStep("discard_diluent", {"draws": withdrawn})
    changed = [number for number in seen if number in scene.changed]
    if changed:
        yield PlannedStep("change_needle", {"draws": changed})
    if set(seen) - scene.used and scene.is_port_swabbed:
        yield PlannedStep("swab_port", drying(policy))


def renamed(about: dict[str, object], old: str, new: str) -> dict[str, object]:
    """Return a step's facts with one container's name in the place of another's."""
    names = {key: about[key] for key in ("container", "containers", "sites") if key in about}
    swapped: dict[str, object] = {
        key: [new if one == old else one for one in value]
        if isinstance(value, list)
        else (new if value == old else value)
        for key, value in names.items()
    }
    return {**about, **swapped}
