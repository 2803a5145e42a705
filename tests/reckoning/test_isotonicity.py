"""Isotonicity against published answers.

Source of each answer: shared/published/worked_examples.json, by title, page; where the source
only offers options, the answer is the option that computes.
"""

from collections.abc import Callable
from decimal import Decimal

import pytest
from published import examples

from compounding.reckoning.isotonicity import (
    AlreadyHypertonic,
    agent_by_freezing,
    agent_needed,
    e_from_volume,
    e_value,
    freezing_depression,
    isotonic_volume,
)
from compounding.reckoning.quantities import Quantity, number_in, of, round_half_up
from compounding.reckoning.refusals import OutOfRange
from compounding.reckoning.working import Worked

EXAMPLES = examples("isotonicity")


def ml(number: int) -> Quantity:
    return of(number, "mL")


def g(number: str) -> Quantity:
    return of(number, "g")


def mass(number: int) -> Quantity:
    return of(number, "mg/mmol")


D = Decimal
AMOUNTS: dict[str, tuple[Callable[[], Worked], str, str]] = {
    "WX335": (lambda: agent_needed(ml(30), ((g("0.135"), D("0.18")),)), "g", "0.0000001"),
    "WX336": (lambda: agent_needed(ml(30), ((g("0.3"), D("0.23")),)), "g", "0.0000001"),
    "WX337": (lambda: agent_needed(ml(10), ((g("0.08"), D("0.16")),), D("0.52")), "g", "0.0001"),
    "WX338": (
        lambda: agent_needed(ml(1000), ((g("5.6"), D("0.49")), (g("2.84"), D("0.53")))),
        "g",
        "0.01",
    ),
    "WX341": (lambda: isotonic_volume(g("0.3"), D("0.33")), "mL", "0.0000001"),
    "WX342": (lambda: isotonic_volume(g("0.3"), D("0.15")), "mL", "0.0000001"),
    "WX348": (lambda: agent_needed(ml(60), ((g("0.12"), D("0.33")),), D("0.58")), "g", "0.01"),
    "WX349": (lambda: isotonic_volume(g("0.2"), D("0.22")), "mL", "0.1"),
    "WX350": (lambda: agent_by_freezing(ml(30), D("0.18")), "g", "0.001"),
    "WX351": (lambda: agent_by_freezing(ml(50), D("0.14")), "mg", "1"),
}
NUMBERS: dict[str, tuple[Callable[[], Decimal], str]] = {
    "WX339": (lambda: freezing_depression(of("0.1", "%"), mass(136), D("2.6")), "0.001"),
    "WX343": (lambda: e_from_volume(g("0.3"), of("5.3", "mL")), "0.01"),
    "WX346": (lambda: e_from_volume(g("0.3"), of("2.7", "mL")), "0.01"),
    "WX347": (lambda: e_value(mass(271), D("1.8")), "0.01"),
    "WX352": (lambda: e_value(mass(273), D("1.8")), "0.01"),
    "WX353": (lambda: e_value(mass(136), D("2.6")), "0.01"),
    "WX354": (lambda: e_value(mass(376), D("2.6")), "0.01"),
}


@pytest.mark.parametrize("name", sorted(AMOUNTS), ids=lambda name: f"{name}-{EXAMPLES[name]['mark']}")
def test_the_published_amount_is_reached(name: str) -> None:
    reckon, unit, step = AMOUNTS[name]
    worked = reckon()
    assert round_half_up(number_in(worked.amount, unit), Decimal(step)) == D(EXAMPLES[name]["expected_value"])
    assert worked.lines


@pytest.mark.parametrize("name", sorted(NUMBERS), ids=lambda name: f"{name}-{EXAMPLES[name]['mark']}")
def test_the_published_number_is_reached(name: str) -> None:
    reckon, step = NUMBERS[name]
    assert round_half_up(reckon(), Decimal(step)) == D(EXAMPLES[name]["expected_value"])


def test_no_published_example_is_forgotten() -> None:
    assert set(AMOUNTS) | set(NUMBERS) == set(EXAMPLES)


def test_the_working_is_written() -> None:
    worked = agent_needed(ml(10), ((g("0.08"), D("0.16")),), D("0.52"))
    assert [line.text for line in worked.lines] == [
        "10 mL × 0.9 % = 0.09 g",
        "0.08 g × 0.16 = 0.0128 g as sodium chloride",
        "0.09 g − 0.0128 g = 0.0772 g sodium chloride",
        "0.0772 g ÷ 0.52 = 0.148 g of the agent",
    ]


def test_drugs_that_are_hypertonic_alone_are_refused() -> None:
    with pytest.raises(AlreadyHypertonic, match="Use a larger volume"):
        agent_needed(ml(10), ((g("1"), D("0.2")),))
    with pytest.raises(AlreadyHypertonic, match="Use a larger volume"):
        agent_by_freezing(ml(10), D("0.53"))
    assert agent_needed(ml(10), ((g("0.45"), D("0.2")),)).amount == g("0.00")


@pytest.mark.parametrize("wrong", ["0", "-0.2"])
def test_an_e_value_is_above_zero(wrong: str) -> None:
    with pytest.raises(OutOfRange, match="An E-value cannot be"):
        agent_needed(ml(10), ((g("1"), D(wrong)),))
