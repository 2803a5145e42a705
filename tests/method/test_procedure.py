"""Composed procedures obey the rules of order, whatever is ordered of the demo formulary.

Rules: shared design 5 (properties) and 1 (the order of the work); a filter needle one way only, swabbed
sites: USP <797> (2023), memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

from cast import Cast, order
from checklists.method import procedure
from checklists.method.procedure import PlannedStep
from checklists.method.step_kinds import KINDS, Actor
from compounding.formulary.models import Formulation
from compounding.formulary.worksheets import for_order
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import number_in, read
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.worksheet import ContainerKind, FinalContainer, Worksheet
from tests.method.one_by_one import compose

FORMULATIONS = (
    "vancomycin-nacl-250", "cefazolin-nacl-100", "ondansetron-nacl-50", "aminophylline-d5w-100",
    "norepinephrine-d5w-250", "potassium-magnesium-nacl-1000", "potassium-nacl-1000", "heparin-d5w-250",
    "acyclovir-nacl-250", "ketorolac-syringe", "ondansetron-syringes", "fluorouracil-nacl-500",
    "famotidine-nacl-100",
)  # fmt: skip
POLICY = Policy()
NOBODY = {"patient_name": "", "patient_identifier": "", "born_on": "", "allergies": "", "prescriber": ""}

shares = st.integers(0, 20).map(lambda twentieths: Decimal(twentieths) / 20)
every_order = given(
    code=st.sampled_from(FORMULATIONS),
    share=shares,
    second=shares,
    weight=st.integers(40, 99),
    units=st.integers(2, 24),
)
of_the_module = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])


def worksheet_of(code: str, share: Decimal, second: Decimal, weight: int, units: int) -> Worksheet:
    """Return the worksheet of an order with doses at these shares of their ranges; skip what is refused."""
    found = Formulation.objects.get(code=code)
    doses = "|".join(
        _dose(one, by) for one, by in zip(found.ingredients.all(), (share, second), strict=False)
    )
    fields = {"body_weight": f"{weight} kg", "weighed_on": timezone.localdate().isoformat()}
    if found.most_units > 1:
        fields |= {"units": str(units), **NOBODY}
    try:
        return for_order(order(code, doses, **fields), timezone.now())
    except Refusal as refusal:
        event(f"refused: {refusal.code}")
        assume(False)
        raise


def _dose(ingredient: object, share: Decimal) -> str:
    least, most = (
        number_in(read(text), ingredient.dose_unit) for text in (ingredient.least_dose, ingredient.most_dose)
    )
    number = (least + (most - least) * share).quantize(Decimal("0.01")).normalize()
    return f"{number:f} {ingredient.dose_unit}"


@pytest.fixture(scope="module")
def formulary(house: Cast) -> Cast:
    return house


def index_of(steps: tuple[PlannedStep, ...], kind: str) -> list[int]:
    return [index for index, step in enumerate(steps) if step.kind == kind]


def pierced(worksheet: Worksheet, step: PlannedStep) -> set[str]:
    """Return the containers that a needle enters at this step."""
    if step.kind == "draw":
        return {portion.container for portion in worksheet.draw(step.about["draw"]).sources}
    if step.kind in ("add", "add_diluent_to_vial"):
        return {worksheet.draw(step.about["draw"]).destination}
    return set()


def swabbed(step: PlannedStep) -> set[str]:
    if step.kind == "swab_sites":
        return set(step.about["sites"])
    return {"bag"} if step.kind == "swab_port" else set()


@of_the_module
@every_order
def test_every_site_is_swabbed_before_it_is_pierced(everybody: Cast, **asked: object) -> None:
    worksheet = worksheet_of(**asked)
    clean: set[str] = set()
    for step in compose(worksheet, POLICY):
        clean |= swabbed(step)
        assert pierced(worksheet, step) <= clean, step
        if step.kind == "add_diluent_to_vial":
            clean -= {
                step.about["container"]
            }  # it is pierced, vented and swirled: swabbed anew before a draw
        if step.kind == "draw":
            clean -= {"bag"} & pierced(worksheet, step)


@of_the_module
@every_order
def test_everything_is_gathered_checked_and_wiped_before_it_enters(everybody: Cast, **asked: object) -> None:
    worksheet = worksheet_of(**asked)
    steps = compose(worksheet, POLICY)
    gathered = [step.about["container"] for step in steps if step.kind == "gather_container"]
    assert gathered == [container.key for container in worksheet.containers]
    used = {key for step in steps for key in pierced(worksheet, step)}
    assert {key for key in used if not key.startswith("syringe")} <= set(gathered)
    last = max(index_of(steps, "gather_container"))
    (wiped,), (hood,), (arranged,) = (
        index_of(steps, kind) for kind in ("wipe_items", "identify_hood", "arrange")
    )
    (label,), (check,) = index_of(steps, "print_label"), index_of(steps, "first_check")
    assert last < label < check < wiped < hood < arranged
    assert arranged < min(index for index, step in enumerate(steps) if KINDS[step.kind].is_in_hood)


@of_the_module
@every_order
def test_every_draw_is_drawn_once_and_shown_before_it_goes_anywhere(everybody: Cast, **asked: object) -> None:
    worksheet = worksheet_of(**asked)
    drawn, shown, gone = [], set(), []
    for step in compose(worksheet, POLICY):
        if step.kind == "draw":
            drawn.append(step.about["draw"])
        elif step.kind == "show":
            assert set(step.about["draws"]) <= set(drawn)
            shown |= set(step.about["draws"])
        elif step.kind in ("add", "add_diluent_to_vial"):
            assert step.about["draw"] in shown, step
            gone.append(step.about["draw"])
        elif step.kind == "discard_diluent":
            assert set(step.about["draws"]) <= shown
            gone.extend(step.about["draws"])
        elif step.kind in ("look", "mix", "apply_label"):
            assert set(drawn) == shown
    numbers = [draw.number for draw in worksheet.draws]
    assert sorted(drawn) == numbers
    assert shown == set(numbers)
    stays = worksheet.final_container is FinalContainer.SYRINGE
    assert sorted(gone) == [
        draw.number for draw in worksheet.draws if not (stays and draw.destination[0] == "s")
    ]


@of_the_module
@every_order
def test_a_needle_that_drew_from_an_ampoule_is_changed_before_anything_is_added(
    everybody: Cast, **asked: object
) -> None:
    worksheet = worksheet_of(**asked)
    opened, filtered = set(), set()
    for step in compose(worksheet, POLICY):
        if step.kind == "open_ampoule":
            opened.add(step.about["container"])
        for key in pierced(worksheet, step):
            is_ampoule = key in {c.key for c in worksheet.containers if c.kind is ContainerKind.AMPOULE}
            if step.kind == "draw" and is_ampoule:
                assert key in opened, "an ampoule is opened before it is drawn from"
                filtered.add(step.about["draw"])
        if step.kind == "change_needle":
            filtered -= set(step.about["draws"])
        if step.kind == "cap_syringe" and step.about["has_filter_needle"]:
            filtered.discard(step.about["draw"])
        if step.kind in ("add", "add_diluent_to_vial"):
            assert step.about["draw"] not in filtered, "a filter needle goes one way only"
    assert filtered == set()


@of_the_module
@every_order
def test_the_label_follows_the_last_addition_and_the_release_is_last(
    everybody: Cast, **asked: object
) -> None:
    worksheet = worksheet_of(**asked)
    steps = compose(worksheet, POLICY)
    kinds = [step.kind for step in steps]
    labels = index_of(steps, "apply_label")
    assert [steps[index].about["unit"] for index in labels] == list(range(1, worksheet.units + 1))
    measured = [index for index, step in enumerate(steps) if KINDS[step.kind].is_in_hood]
    assert max(measured) < labels[0]
    cover = ["cover_from_light"] if worksheet.protect_from_light else []
    assert kinds[labels[-1] + 1 :] == [*cover, "dispose", "hand_over", "clean_up", "final_check", "release"]
    assert kinds[0] == "read_worksheet"
    assert kinds.count("release") == kinds.count("first_check") == 1


@of_the_module
@every_order
def test_gloves_are_disinfected_and_wraps_peeled_before_the_first_needle(
    everybody: Cast, **asked: object
) -> None:
    steps = compose(worksheet_of(**asked), POLICY)
    (peeled,), (gloves,) = index_of(steps, "peel_wraps"), index_of(steps, "disinfect_gloves")
    assert peeled < gloves < min(index_of(steps, "draw"))


@of_the_module
@every_order
def test_every_step_is_of_a_kind_that_is_known_and_waits_as_long_as_the_policy_says(
    everybody: Cast, **asked: object
) -> None:
    for step in compose(worksheet_of(**asked), POLICY):
        assert step.kind in KINDS
        if "seconds" in step.about and step.kind != "dissolve":
            assert step.about["seconds"] == POLICY.alcohol_dry_seconds


def test_a_powder_is_dissolved_before_it_is_drawn(everybody: Cast) -> None:
    worksheet = for_order(order("vancomycin-nacl-250", "1100 mg"), timezone.now())
    steps = [(step.kind, step.about) for step in compose(worksheet, POLICY)]
    dissolved = [kind for kind, about in steps].index("dissolve")
    assert steps[dissolved][1]["containers"] == ["vial 1", "vial 2"]
    assert steps[dissolved][1]["seconds"] == worksheet.ingredients[0].dissolve_seconds > 0
    assert steps[dissolved - 1] == ("add_diluent_to_vial", {"draw": 2, "container": "vial 2"})
    assert steps[dissolved + 1] == ("swab_sites", {"seconds": 30, "sites": ["vial 1", "vial 2"]})
    assert steps[dissolved + 2] == ("draw", {"draw": 3})


def test_steps_put_in_later_are_those_of_the_procedure(everybody: Cast) -> None:
    worksheet = for_order(order("ketorolac-syringe", "30 mg"), timezone.now())
    assert [step.kind for step in procedure.draw_again(worksheet, [1])] == ["draw", "cap_syringe", "show"]
    assert [step.about for step in procedure.read_again([1, 2])] == [{"draws": [1, 2]}]
    assert procedure.sites_of(worksheet) == ["vial 1"]
    again = [step.kind for step in procedure.enter_hood(POLICY)]
    assert again == ["identify_hood", "wipe_surface", "arrange"]


def checks(steps: tuple[PlannedStep, ...]) -> Iterator[str]:
    yield from (step.kind for step in steps if KINDS[step.kind].actor is Actor.CHECKER)


def test_the_checker_acts_first_at_every_show_and_at_the_end(everybody: Cast) -> None:
    worksheet = for_order(order("vancomycin-nacl-250", "1100 mg"), timezone.now())
    steps = compose(worksheet, POLICY)
    assert list(checks(steps)) == ["first_check", "show", "show", "final_check", "release"]
