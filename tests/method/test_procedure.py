"""Procedures of the demo formulary, and steps that are put in later.

The rules of order: `rules_of_order` and `rules_of_hazard`, with their sources.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from django.utils import timezone
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

from cast import Cast, order
from checklists.method import procedure
from checklists.method.procedure import PlannedStep, compose
from checklists.method.step_kinds import KINDS, Actor
from compounding.formulary.models import Formulation
from compounding.formulary.worksheets import for_order
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import number_in, read
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.worksheet import Worksheet
from tests.method.every_rule import breaches, needless

FORMULATIONS = (
    "vancomycin-nacl-250", "cefazolin-nacl-100", "ondansetron-nacl-50", "aminophylline-d5w-100",
    "norepinephrine-d5w-250", "potassium-magnesium-nacl-1000", "potassium-nacl-1000", "heparin-d5w-250",
    "acyclovir-nacl-250", "ketorolac-syringe", "ondansetron-syringes", "fluorouracil-nacl-500",
    "famotidine-nacl-100", "bicarbonate-d5w-250",
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
of_the_module = settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])


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


@of_the_module
@every_order
def test_what_the_demo_formulary_orders_keeps_every_rule_and_needs_every_step(
    everybody: Cast, **asked: object
) -> None:
    worksheet = worksheet_of(**asked)
    steps = compose(worksheet, POLICY)
    assert breaches(worksheet, steps) == []
    assert needless(worksheet, steps) == []
    for step in steps:
        assert step.kind in KINDS
        if "seconds" in step.about:
            assert step.about["seconds"] == lasting(worksheet, step.kind)


def lasting(worksheet: Worksheet, kind: str) -> int:
    """Return how long a step lasts: by policy, but a powder as its label says, and alcohol as it dries."""
    own = {
        "dissolve": worksheet.ingredients[0].dissolve_seconds,
        "wash_hands": POLICY.hand_wash_seconds,
        "rub_hands": POLICY.hand_rub_seconds,
        "deactivate": POLICY.deactivate_seconds,
        "decontaminate": POLICY.decontaminate_seconds,
        "clean_surface": POLICY.clean_seconds,
    }
    return own.get(kind, POLICY.alcohol_dry_seconds)


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
    assert [step.kind for step in procedure.draw_again(worksheet, [1], POLICY)] == [
        "swab_sites",
        "draw",
        "cap_syringe",
        "show",
    ]
    assert [step.about for step in procedure.read_again([1, 2])] == [{"draws": [1, 2]}]
    assert procedure.sites_of(worksheet) == ["vial 1"]
    again = [step.kind for step in procedure.enter_hood(POLICY)]
    assert again == ["identify_hood", "wipe_surface", "arrange"]
    closed = [step.kind for step in procedure.enter_hood(POLICY, hazardous=True)]
    assert closed == ["identify_hood", "wipe_surface", "lay_mat", "arrange"]


def test_an_open_ampoule_is_not_opened_again_nor_swabbed(everybody: Cast) -> None:
    worksheet = for_order(order("norepinephrine-d5w-250", "4 mg"), timezone.now())
    assert [step.kind for step in procedure.draw_again(worksheet, [1], POLICY)] == ["draw", "show"]


def test_new_gloves_are_disinfected() -> None:
    assert procedure.new_gloves(POLICY) == (
        PlannedStep("change_gloves", {}),
        PlannedStep("disinfect_gloves", {"seconds": 30}),
    )


def checks(steps: tuple[PlannedStep, ...]) -> Iterator[str]:
    yield from (step.kind for step in steps if KINDS[step.kind].actor is Actor.CHECKER)


def test_the_checker_acts_first_at_every_show_and_at_the_end(everybody: Cast) -> None:
    worksheet = for_order(order("vancomycin-nacl-250", "1100 mg"), timezone.now())
    steps = compose(worksheet, POLICY)
    assert list(checks(steps)) == ["first_check", "show", "show", "final_check", "release"]
