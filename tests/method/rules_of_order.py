"""The rules of order of a procedure, a small checker each: it yields a sentence for every breach it finds.

Rules: shared design 5 (properties) and 1 (the order of the work). Swabbed and dry before a needle, filter
needle one way: USP <797> (2023), memory. Everything on hazardous work is in `rules_of_hazard`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from checklists.method.planned import PlannedStep
from checklists.method.step_kinds import KINDS
from compounding.reckoning.worksheet import ContainerKind, Draw, FinalContainer, Purpose, Worksheet

Steps = Sequence[PlannedStep]
Rule = Callable[[Worksheet, Steps], Iterator[str]]

ADDS = ("add", "add_diluent_to_vial", "push_over")
#: Where a needle or a closed device enters; a prefilled syringe is joined tip to tip.
PIERCED = tuple(kind for kind in ContainerKind if kind is not ContainerKind.PREFILLED_SYRINGE)


def places(steps: Steps, *kinds: str) -> list[int]:
    """Return where steps of these kinds stand."""
    return [at for at, step in enumerate(steps) if step.kind in kinds]


def in_order(steps: Steps, *kinds: str) -> Iterator[str]:
    """Each kind is there, and every step of it comes before every step of the next."""
    for kind in kinds:
        if not places(steps, kind):
            yield f"{kind} is missing"
    for first, then in pairwise(kinds):
        if max(places(steps, first), default=-1) > min(places(steps, then), default=len(steps)):
            yield f"{first} comes after {then}"


def once(steps: Steps, *kinds: str) -> Iterator[str]:
    """Each kind is there exactly once."""
    yield from (f"{kind} is there {n} times" for kind in kinds if (n := len(places(steps, kind))) != 1)


def drawn_from(worksheet: Worksheet, step: PlannedStep, *kinds: ContainerKind) -> set[str]:
    """Return the containers of these kinds that this step draws from."""
    if step.kind != "draw":
        return set()
    keys = {portion.container for portion in worksheet.draw(step.about["draw"]).sources}
    return {key for key in keys if worksheet.container(key).kind in kinds}


def entered(worksheet: Worksheet, step: PlannedStep) -> set[str]:
    """Return the containers that a needle or a device enters at this step."""
    if step.kind in ("add", "add_diluent_to_vial"):
        return {worksheet.draw(step.about["draw"]).destination}
    return drawn_from(worksheet, step, *PIERCED)


def is_unit(worksheet: Worksheet, draw: Draw) -> bool:
    """Tell whether the drawn syringe is itself the finished unit."""
    into = [one for one in worksheet.draws if one.destination == draw.destination]
    return (
        worksheet.final_container is FinalContainer.SYRINGE and draw.destination[0] == "s" and len(into) == 1
    )


def begins_with_reading_gathering_and_a_check(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    yield from once(steps, "read_worksheet", "gather_supplies", "print_label", "first_check")
    yield from in_order(
        steps, "read_worksheet", "gather_container", "gather_supplies", "print_label", "first_check"
    )


def every_container_is_gathered(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    gathered = [steps[at].about["container"] for at in places(steps, "gather_container")]
    if gathered != [one.key for one in worksheet.containers]:
        yield f"gathered: {gathered}"


def everything_is_wiped_before_it_enters(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    yield from once(steps, "wipe_items")
    yield from in_order(steps, "gather_container", "first_check", "wipe_items", "identify_hood")


def hands_are_clean_and_gloved_before_the_hood(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    yield from once(steps, "put_on_covers", "wash_hands", "rub_hands", "put_on_gloves")
    yield from in_order(steps, "put_on_covers", "wash_hands", "rub_hands", "put_on_gloves", "identify_hood")
    if any(steps[at].about["seconds"] < 30 for at in places(steps, "wash_hands")):
        yield "hands are washed for less than 30 s"


def the_hood_is_known_wiped_and_arranged_before_hands_go_in(
    worksheet: Worksheet, steps: Steps
) -> Iterator[str]:
    yield from once(steps, "identify_hood", "wipe_surface", "arrange")
    yield from in_order(steps, "identify_hood", "wipe_surface", "arrange")
    inside = min(at for at, step in enumerate(steps) if KINDS[step.kind].is_in_hood)
    if max(places(steps, "arrange"), default=inside) >= inside:
        yield "hands are in the hood before it is arranged"


def wraps_are_peeled_and_gloves_disinfected_before_the_first_draw(
    worksheet: Worksheet, steps: Steps
) -> Iterator[str]:
    first = min(places(steps, "draw"), default=0)
    before = [step.kind for step in steps[:first]]
    yield from (f"no {kind} first" for kind in ("peel_wraps", "disinfect_gloves") if kind not in before)
    yield from in_order(steps[:first], "peel_wraps", "disinfect_gloves")


def every_site_is_swabbed_before_it_is_pierced(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """What was pierced is swabbed anew once the hands were at something else: a showing, another vial."""
    clean: set[str] = set()
    pierced: set[str] = set()
    for step in steps:
        clean |= set(step.about.get("sites", ())) if step.kind in ("swab_sites", "swab_port") else set()
        if missing := entered(worksheet, step) - clean:
            yield f"{sorted(missing)} pierced at {step} without a swab"
        pierced |= entered(worksheet, step)
        if step.kind in ("show", "dissolve"):
            clean, pierced = clean - pierced, set()


def the_port_is_swabbed_for_each_addition(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """After the showing and just before: not only when the bag came in."""
    clean: set[str] = set()
    for step in steps:
        if step.kind == "show":
            clean = set()
        if step.kind == "swab_port":
            clean |= set(step.about["sites"])
        if step.kind == "add" and not entered(worksheet, step) <= clean:
            yield f"{step} through a port that was not swabbed for it"


def what_is_added_is_mixed_and_looked_at(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """After the last add of each transfer into a bag; a final syringe once, when all is in it."""
    into_unit = [t for t in worksheet.transfers if t.purpose in (Purpose.DRUG, Purpose.FILL)]
    is_syringe = worksheet.final_container is FinalContainer.SYRINGE
    for transfer in into_unit[-1:] if is_syringe else into_unit:
        numbers = {draw.number for draw in transfer.draws}
        added = [at for at in places(steps, *ADDS) if steps[at].about["draw"] in numbers]
        last = max(added or places(steps, "show") or [0])
        looked = [at for at in places(steps, "mix", "look") if steps[at].about["transfer"] == transfer.number]
        if not looked or min(looked) < last:
            yield f"transfer {transfer.number} is not mixed and looked at"


def every_syringe_that_is_a_unit_is_capped(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """Drawn as a unit: before the next is drawn. Filled from others: once all is in it."""
    units = [draw for draw in worksheet.draws if is_unit(worksheet, draw)]
    for draw in units:
        drawn = ("draw", draw.number)
        after = next((b for a, b in pairwise(steps) if (a.kind, a.about.get("draw")) == drawn), steps[0])
        if (after.kind, after.about.get("draw")) != ("cap_syringe", draw.number):
            yield f"syringe {draw.number} lies open"
    if worksheet.final_container is FinalContainer.SYRINGE and not units:
        capped = [steps[at].about["unit"] for at in places(steps, "cap_final")]
        if capped != list(range(1, worksheet.units + 1)):
            yield f"capped: {capped}"
        yield from in_order(steps, "push_over", "cap_final", "mix")


def the_label_is_on_each_unit_at_once(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """Nothing comes between the last act in the hood and the label: a clear bag looks empty."""
    labels = places(steps, "apply_label")
    if [steps[at].about["unit"] for at in labels] != list(range(1, worksheet.units + 1)):
        yield "a unit has no label of its own"
    inside = max(at for at, step in enumerate(steps) if KINDS[step.kind].is_in_hood)
    between = [step.kind for step in steps[inside + 1 :] if step.kind != "site_step"][: len(labels)]
    if any(kind != "apply_label" for kind in between):
        yield f"{between} before the label"


def what_light_harms_is_covered(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    covered = places(steps, "cover_from_light")
    if len(covered) != int(worksheet.protect_from_light):
        yield f"covered {len(covered)} times"
    if covered:
        yield from in_order(steps, "apply_label", "cover_from_light", "dispose")


def it_ends_apart_handed_over_clean_checked_and_released(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    counted = ("reconcile",) if worksheet.units > 1 else ()
    last = ("dispose", *counted, "hand_over", "clean_up", "final_check", "release")
    yield from once(steps, *last)
    yield from in_order(steps, "apply_label", *last)
    if steps[-1].kind != "release":
        yield "the release is not last"


RULES: tuple[Rule, ...] = (
    begins_with_reading_gathering_and_a_check,
    every_container_is_gathered,
    everything_is_wiped_before_it_enters,
    hands_are_clean_and_gloved_before_the_hood,
    the_hood_is_known_wiped_and_arranged_before_hands_go_in,
    wraps_are_peeled_and_gloves_disinfected_before_the_first_draw,
    every_site_is_swabbed_before_it_is_pierced,
    the_port_is_swabbed_for_each_addition,
    what_is_added_is_mixed_and_looked_at,
    every_syringe_that_is_a_unit_is_capped,
    the_label_is_on_each_unit_at_once,
    what_light_harms_is_covered,
    it_ends_apart_handed_over_clean_checked_and_released,
)
