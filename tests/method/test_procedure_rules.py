"""Composed procedures keep every rule of order, and need every one of their steps.

Source of the rules: beside each checker, in `rules_of_order` and `rules_of_hazard`.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checklists.method.pictures.by_step import picture_of
from checklists.method.procedure import compose
from checklists.method.site_steps import SiteStep
from checklists.method.step_kinds import Stage
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet
from tests.method.any_worksheet import worksheets
from tests.method.combinations import ALL, PAGE, Combination, page
from tests.method.every_rule import SAFETY, breaches, needless

POLICY = Policy()
own_steps = st.builds(
    SiteStep,
    text=st.just("Call the ward"),
    why=st.just("they asked for it"),
    stage=st.sampled_from(Stage),
    is_before=st.booleans(),
    seconds=st.sampled_from((0, 60)),
)


@settings(max_examples=40)
@given(worksheet=worksheets(), own=st.lists(own_steps, max_size=3))
def test_every_procedure_keeps_every_rule_also_with_steps_of_the_sites_own(
    worksheet: Worksheet, own: list[SiteStep]
) -> None:
    steps = compose(worksheet, POLICY, own=own)
    assert breaches(worksheet, steps) == []
    assert [step for step in steps if step.kind == "site_step"] or not [one for one in own if one.may_be]


@settings(max_examples=12)
@given(worksheet=worksheets())
def test_no_step_of_any_procedure_can_be_left_out(worksheet: Worksheet) -> None:
    assert needless(worksheet, compose(worksheet, POLICY)) == []


@pytest.mark.long
@settings(max_examples=1000)
@given(worksheet=worksheets(), own=st.lists(own_steps, max_size=3))
def test_a_thousand_procedures_keep_every_rule_and_need_every_step(
    worksheet: Worksheet, own: list[SiteStep]
) -> None:
    steps = compose(worksheet, POLICY, own=own)
    assert breaches(worksheet, steps) == []
    assert needless(worksheet, steps) == []


@pytest.mark.parametrize("one", ALL, ids=lambda one: one.name)
def test_each_combination_keeps_every_rule_and_needs_every_step(one: Combination) -> None:
    assert breaches(one.worksheet, one.steps) == []
    assert needless(one.worksheet, one.steps) == []


@pytest.mark.parametrize("one", ALL, ids=lambda one: one.name)
def test_each_combination_has_its_pictures(one: Combination) -> None:
    """A prefilled syringe is drawn joined, so its draw has no other picture of its source."""
    worksheet = one.worksheet
    drawn = [step for step in one.steps if step.kind == "draw"]
    for step in one.steps:
        picture = picture_of(step.kind, step.about, worksheet)
        if step in drawn:
            is_joined = one.source.startswith("prefilled") and step.about["draw"] == drawn[0].about["draw"]
            assert (picture is None) == is_joined


def test_the_combinations_go_through_every_kind_of_step() -> None:
    assert len(ALL) == len({one.name for one in ALL}) >= 24
    only_controlled = {"account_waste"}  # none of the combinations is of a controlled medicine
    assert {step.kind for one in ALL for step in one.steps} == SAFETY - only_controlled


def test_the_guide_lists_the_steps_as_they_are_composed_now() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), "write it anew: python -m tests.method.combinations"


def test_hazardous_steps_would_be_missed_if_the_worksheet_did_not_ask_for_them() -> None:
    """The hazard is the worksheet's word: the same steps under the other word break rules."""
    safe = Combination(ALL[0].source, ALL[0].final)
    hazardous = replace(safe, hazardous=True)
    assert breaches(hazardous.worksheet, safe.steps)
    assert breaches(safe.worksheet, hazardous.steps)


def test_a_garbing_that_stands_leaves_out_the_garbing_and_nothing_else() -> None:
    worksheet = ALL[0].worksheet
    whole, short = compose(worksheet, POLICY), compose(worksheet, POLICY, is_garbed=True)
    left = [step for step in whole if step not in short]
    assert [step.kind for step in left] == ["put_on_covers", "wash_hands", "rub_hands", "put_on_gloves"]
    assert [step for step in whole if step not in left] == list(short)
