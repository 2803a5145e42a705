"""Batches: what is done once is one step, what is done per unit is one counted step.

Rules: the issue (batches) and shared design 1 (filled syringes lying together: capped, numbered places).
"""

from __future__ import annotations

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cast import Cast, order, stock_batch
from checklists.method import batch, procedure
from checklists.method.planned import PlannedStep
from checklists.method.step_kinds import KINDS
from compounding.formulary.models import Formulation
from compounding.formulary.worksheets import for_order
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet
from tests.method.one_by_one import compose
from tests.method.test_procedure import NOBODY

POLICY = Policy()
of_the_module = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=12)
batches = given(units=st.integers(2, 24))


def of_units(units: int) -> Worksheet:
    asked = order("ondansetron-syringes", "4 mg", units=str(units), **NOBODY)
    return for_order(asked, timezone.now())


def steps_of(worksheet: Worksheet) -> list[PlannedStep]:
    return list(compose(worksheet, POLICY))


def kinds(worksheet: Worksheet) -> list[str]:
    return [step.kind for step in procedure.compose(worksheet, POLICY)]


def counted_of(worksheet: Worksheet) -> list[str]:
    """Return the counted steps of the units: containers are gathered counted where there are many."""
    return [kind for kind in kinds(worksheet) if KINDS[kind].is_counted and kind != "gather_each"]


def test_a_batch_of_twelve_is_a_score_of_screens_instead_of_twice_as_many_as_units(everybody: Cast) -> None:
    worksheet = for_order(stock_batch(), timezone.now())
    assert (len(kinds(worksheet)), len(compose(worksheet, POLICY))) == (27, 61)


@of_the_module
@batches
def test_the_number_of_screens_does_not_grow_with_the_units(everybody: Cast, units: int) -> None:
    worksheet = of_units(units)
    vials = len(worksheet.containers)
    assert len(kinds(worksheet)) == 25 + (vials if vials < batch.MANY else 1)
    assert counted_of(worksheet) == ["draw_units", "label_units"]


@of_the_module
@batches
def test_each_syringe_is_capped_before_the_next_is_drawn(everybody: Cast, units: int) -> None:
    uncapped: set[int] = set()
    for step in steps_of(of_units(units)):
        if step.kind == "draw":
            assert not uncapped
            uncapped.add(step.about["draw"])
        if step.kind == "cap_syringe":
            uncapped.remove(step.about["draw"])
        if step.kind in ("show", "apply_label"):
            assert not uncapped


@of_the_module
@batches
def test_each_label_follows_its_own_syringe_drawn_seen_and_looked_at(everybody: Cast, units: int) -> None:
    worksheet = of_units(units)
    drawn, seen, looked = set(), set(), False
    labelled = []
    for step in steps_of(worksheet):
        if step.kind == "draw":
            drawn.add(batch.unit_of(worksheet.draw(step.about["draw"])))
        elif step.kind == "show":
            seen |= {batch.unit_of(worksheet.draw(number)) for number in step.about["draws"]}
        elif step.kind == "look":
            looked = True
        elif step.kind == "apply_label":
            assert step.about["unit"] in drawn & seen
            assert looked
            labelled.append(step.about["unit"])
    assert labelled == sorted(drawn) == list(range(1, units + 1))


@of_the_module
@batches
def test_a_counted_step_counts_every_unit_once_by_its_own_number(everybody: Cast, units: int) -> None:
    worksheet = of_units(units)
    for step in procedure.compose(worksheet, POLICY):
        if KINDS[step.kind].is_counted and step.kind != "gather_each":
            items = batch.items_of(step.about, worksheet)
            assert [item.number for item in items] == [item.unit for item in items]
            assert [item.number for item in items] == list(range(1, units + 1))
            assert step.about["of"] == units


def test_some_syringes_drawn_again_keep_their_numbers(everybody: Cast) -> None:
    worksheet = of_units(12)
    again, shown = procedure.draw_again(worksheet, [3, 7])
    assert again == PlannedStep(
        "draw_units", {"units": [3, 7], "draws": [3, 7], "of": 12, "has_filter_needle": 0}
    )
    assert shown == PlannedStep("show", {"draws": [3, 7]})


def test_draws_belong_to_their_unit(everybody: Cast) -> None:
    worksheet = of_units(12)
    assert batch.draws_of_units(worksheet, [5, 9]) == {5, 9}
    assert batch.draws_of_units(worksheet, []) == set()


@pytest.mark.parametrize(("formulation", "dose"), [("vancomycin-nacl-250", "1100 mg")])
def test_a_vials_diluent_belongs_to_no_unit_but_vials_are_alike(
    everybody: Cast, formulation: str, dose: str
) -> None:
    worksheet = for_order(order(formulation, dose), timezone.now())
    assert [batch.unit_of(draw) for draw in worksheet.draws] == [0, 0, 0]
    assert batch.alike(worksheet, [1]) == [1, 2]
    assert batch.alike(worksheet, [3]) == [3]
    assert batch.alike(of_units(12), [4]) == list(range(1, 13))


def of_bags(units: int) -> Worksheet:
    """Return a batch of bags: the demo formulary has none, so one formulation is let."""
    Formulation.objects.filter(code="ondansetron-nacl-50").update(most_units=24)
    return for_order(order("ondansetron-nacl-50", "8 mg", units=str(units), **NOBODY), timezone.now())


@pytest.mark.parametrize("units", [2, 12])
def test_a_batch_of_bags_draws_adds_and_labels_each_by_its_number(everybody: Cast, units: int) -> None:
    worksheet = of_bags(units)
    assert counted_of(worksheet) == ["draw_units", "add_units", "label_units"]
    seen: set[int] = set()
    added = []
    for step in steps_of(worksheet):
        if step.kind == "show":
            seen |= set(step.about["draws"])
        elif step.kind == "add":
            assert step.about["draw"] in seen
            added.append(worksheet.draw(step.about["draw"]).destination)
        elif step.kind == "apply_label":
            assert f"bag {step.about['unit']}" in added
    assert added == [f"bag {unit}" for unit in range(1, units + 1)]
