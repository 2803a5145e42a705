"""The rules of hazardous work, a small checker each. Source: standards.md section 2 (USP <800>).

Work that is not hazardous has none of these steps.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from compounding.reckoning.worksheet import ContainerKind, Worksheet
from tests.method.rules_of_order import ADDS, Rule, Steps, entered, in_order, once, places

OWN = (
    "lay_mat", "attach_devices", "wipe_outside", "change_gloves", "seal_bag", "deactivate", "decontaminate",
    "clean_surface",
)  # fmt: skip
CLOSED = (ContainerKind.SOLUTION_VIAL, ContainerKind.POWDER_VIAL, ContainerKind.BAG)
Check = Callable[[Worksheet, Steps], Iterator[str]]


def only_if_hazardous(check: Check) -> Rule:
    """Make a rule that other work does not have to keep."""

    def rule(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
        if worksheet.hazardous:
            yield from check(worksheet, steps)

    rule.__name__ = check.__name__
    return rule


def other_work_has_none_of_it(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    if not worksheet.hazardous:
        yield from (f"{steps[at].kind} for nothing" for at in places(steps, *OWN))


@only_if_hazardous
def the_mat_is_laid_on_the_wiped_surface(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    yield from once(steps, "lay_mat")
    yield from in_order(steps, "wipe_surface", "lay_mat", "arrange")


@only_if_hazardous
def everything_that_is_entered_is_closed_first(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """A closed device on each vial and bag; an ampoule takes none."""
    closed: set[str] = set()
    for step in steps:
        if step.kind == "attach_devices":
            closed |= set(step.about["containers"])
        for key in entered(worksheet, step) - closed:
            if worksheet.container(key).kind in CLOSED:
                yield f"{key} is entered open"


@only_if_hazardous
def the_outside_is_wiped_after_the_last_add(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    yield from once(steps, "wipe_outside")
    last = max(places(steps, *ADDS, "cap_syringe", "show", "mix", "look"))
    yield from (f"wiped at {at}, filled until {last}" for at in places(steps, "wipe_outside") if at < last)
    yield from in_order(steps, "wipe_outside", "apply_label")


@only_if_hazardous
def clean_gloves_touch_the_label(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    """Two pairs: the second goes on once the outside is wiped, and is disinfected."""
    yield from in_order(steps, "wipe_outside", "change_gloves", "apply_label")
    for at in places(steps, "change_gloves"):
        if steps[at + 1 : at + 2] and steps[at + 1].kind != "disinfect_gloves":
            yield "new gloves are not disinfected"


@only_if_hazardous
def it_leaves_in_a_sealed_bag(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    yield from once(steps, "seal_bag")
    yield from in_order(steps, "apply_label", "seal_bag", "hand_over")


@only_if_hazardous
def the_surface_goes_through_four_acts(worksheet: Worksheet, steps: Steps) -> Iterator[str]:
    acts = ("deactivate", "decontaminate", "clean_surface", "clean_up")
    yield from once(steps, *acts)
    yield from in_order(steps, "hand_over", *acts)
    yield from (
        f"{steps[at].kind} lasts no time" for at in places(steps, *acts) if steps[at].about["seconds"] < 10
    )


HAZARD_RULES: tuple[Rule, ...] = (
    other_work_has_none_of_it,
    the_mat_is_laid_on_the_wiped_surface,
    everything_that_is_entered_is_closed_first,
    the_outside_is_wiped_after_the_last_add,
    clean_gloves_touch_the_label,
    it_leaves_in_a_sealed_bag,
    the_surface_goes_through_four_acts,
)
