"""Refusals have a code, their facts and a sentence; the tree is as its docstring draws it."""

import re

from compounding.reckoning import refusals
from compounding.reckoning.refusals import Refusal


def family(root: type[Refusal]) -> list[type[Refusal]]:
    return [root, *(one for child in root.__subclasses__() for one in family(child))]


def own() -> list[type[Refusal]]:
    return [one for one in family(Refusal) if one.__module__ == refusals.__name__]


def test_the_tree_drawn_is_the_tree_that_stands() -> None:
    drawn = set(
        re.findall(r"\b[A-Z][a-z]+(?:[A-Z][a-z]+)+\b|\bUnreadable\b|\bRefusal\b", refusals.__doc__ or "")
    )
    assert drawn == {one.__name__ for one in own()}


def test_codes_are_the_names_in_kebab_case_and_differ() -> None:
    codes = [one.code for one in own()]
    assert len(set(codes)) == len(codes)
    assert refusals.OverDoseLimit.code == "over-dose-limit"
    assert not any(one.__name__.endswith("Error") for one in own())


def test_a_sentence_is_made_of_the_facts_it_names() -> None:
    for one in own():
        names = re.findall(r"{(\w+)}", one.wording)
        refused = one(**dict.fromkeys(names, "this"))
        assert str(refused) == refused.sentence
        assert "{" not in refused.sentence
        assert all(name in (one.__doc__ or "") for name in names), one


def test_braces_in_a_fact_stay_as_they_are() -> None:
    assert "{0.__class__}" in refusals.NotAnAmount(text="{0.__class__}", example="500 mg").sentence
