"""The rules of what is drawn, a small checker each: opened or joined first, seen, and gone where it belongs.

Rules: shared design 5 and 1 (Draw, Show, Add); a filter needle one way: USP <797> (2023), memory.
"""

from __future__ import annotations

from collections.abc import Iterator

from checklists.method.planned import PlannedStep
from compounding.reckoning.worksheet import ContainerKind, Worksheet
from tests.method.rules_of_order import ADDS, Rule, Steps, drawn_from, is_unit, places


def every_ampoule_is_opened_once_before_it_is_drawn_from(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    opened: list[str] = []
    for step in steps:
        if step.kind == "open_ampoule":
            opened.append(str(step.about["container"]))
        if closed := drawn_from(worksheet, step, ContainerKind.AMPOULE) - set(opened):
            yield f"{sorted(closed)} drawn from unopened"
    if len(opened) != len(set(opened)):
        yield "an ampoule is opened twice"


def every_prefilled_syringe_is_joined_before_it_is_drawn_from(
    worksheet: Worksheet, steps: Steps
) -> Iterator[str]:
    joined: set[tuple[int, str]] = set()
    for step in steps:
        if step.kind == "join_prefilled":
            joined.add((step.about["draw"], step.about["container"]))
        for key in drawn_from(worksheet, step, ContainerKind.PREFILLED_SYRINGE):
            if (step.about["draw"], key) not in joined:
                yield f"{key} is not joined to syringe {step.about['draw']}"


def a_filter_needle_goes_one_way_only(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """Changed before anything is added, or off before the syringe is capped as a unit."""
    filtered: set[int] = set()
    for step in steps:
        if drawn_from(worksheet, step, ContainerKind.AMPOULE):
            filtered.add(step.about["draw"])
        if step.kind == "change_needle":
            filtered -= set(step.about["draws"])
        is_off = step.kind == "cap_syringe" and step.about["has_filter_needle"]
        if is_off and is_unit(worksheet, worksheet.draw(step.about["draw"])):
            filtered.discard(step.about["draw"])
        if step.kind in ADDS and step.about["draw"] in filtered:
            yield f"syringe {step.about['draw']} is emptied through its filter needle"
    yield from (f"syringe {number} keeps its filter needle" for number in sorted(filtered))


def every_draw_is_drawn_once_and_shown_before_it_goes_anywhere(
    worksheet: Worksheet, steps: Steps
) -> Iterator[str]:
    drawn: list[int] = []
    shown: set[int] = set()
    for step in steps:
        if step.kind == "draw":
            drawn.append(step.about["draw"])
        elif step.kind == "show":
            if not set(step.about["draws"]) <= set(drawn):
                yield f"{step} before it is drawn"
            shown |= set(step.about["draws"])
        elif gone := emptied(step) - shown:
            yield f"{sorted(gone)} gone unseen at {step.kind}"
        elif step.kind in ("look", "mix", "apply_label") and set(drawn) != shown:
            yield f"{step.kind} before every draw is seen"
    if sorted(drawn) != [draw.number for draw in worksheet.draws] or shown != set(drawn):
        yield "not every draw is drawn once and seen"


def emptied(step: PlannedStep) -> set[int]:
    """Return the syringes that this step empties."""
    if step.kind in ADDS:
        return {step.about["draw"]}
    return set(step.about["draws"]) if step.kind == "discard_diluent" else set()


def every_draw_goes_where_it_belongs_once(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    gone = sorted(number for step in steps for number in emptied(step))
    if gone != [draw.number for draw in worksheet.draws if not is_unit(worksheet, draw)]:
        yield f"emptied: {gone}"
    wasted = {number for step in steps if step.kind == "discard_diluent" for number in step.about["draws"]}
    if wasted != {draw.number for draw in worksheet.draws if draw.destination == "waste"}:
        yield f"to waste: {sorted(wasted)}"


def withdrawn_diluent_is_gone_before_a_drug_goes_in(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    wasted, added = places(steps, "discard_diluent"), places(steps, "add")
    if wasted and added and max(wasted) > min(added):
        yield "a drug is in the bag before the diluent is out"


def every_powder_is_dissolved_before_it_is_drawn(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """Its diluent is in, it has been dissolved as long as its label says."""
    ready: set[str] = set()
    wet: set[str] = set()
    for step in steps:
        if step.kind == "add_diluent_to_vial":
            wet.add(str(step.about["container"]))
        if step.kind == "dissolve":
            if dry := set(step.about["containers"]) - wet:
                yield f"{sorted(dry)} dissolved without diluent"
            if step.about["seconds"] < 60:
                yield "dissolved for less than its label says"
            ready |= set(step.about["containers"])
        if dry := drawn_from(worksheet, step, ContainerKind.POWDER_VIAL) - ready:
            yield f"{sorted(dry)} drawn from undissolved"


DRAW_RULES: tuple[Rule, ...] = (
    every_ampoule_is_opened_once_before_it_is_drawn_from,
    every_prefilled_syringe_is_joined_before_it_is_drawn_from,
    a_filter_needle_goes_one_way_only,
    every_draw_is_drawn_once_and_shown_before_it_goes_anywhere,
    every_draw_goes_where_it_belongs_once,
    withdrawn_diluent_is_gone_before_a_drug_goes_in,
    every_powder_is_dissolved_before_it_is_drawn,
)
