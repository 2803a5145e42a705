"""Required, drawn and seen: half a mark inclusive, both sides of the edge; the content's limit; the odd one.

Every number is worked by hand beside its case. Half a mark: common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from checklists.method.agreement import compare, recalculation_agrees
from compounding.reckoning.quantities import of
from compounding.reckoning.worksheet import Draw, ErrorBudget, Portion, Purpose, Syringe, Transfer

NO_ERROR = ErrorBudget(Decimal(0), Decimal(0), Decimal(0), Decimal(0), Decimal(0))


def draw(required: str, target: str, size: str = "30", mark: str = "1", turn: int = 1) -> Draw:
    return Draw(
        number=1,
        transfer=1,
        turn=turn,
        required=of(required, "mL"),
        target=of(target, "mL"),
        syringe=Syringe(of(size, "mL"), of(mark, "mL")),
        sources=(Portion("vial 1", of(target, "mL")),),
        destination="bag",
        air=of(0, "mL"),
        error=NO_ERROR,
    )


def verdict(planned: Draw, drawn: str, seen: str, limit: str = "5"):
    return compare(planned, drawn=of(drawn, "mL"), seen=of(seen, "mL"), limit_percent=Decimal(limit))


#: required, target, size, mark, drawn, seen -> agrees, spread, half a mark, odd one
AGREEMENTS = {
    "all at the mark": ("17.3", "17.5", "30", "1", "17.5", "17.5", True, "0", "0.5", ""),
    # 18 - 17.5 = 0.5 = half of 1
    "seen half a mark over, inclusive": ("17.5", "17.5", "30", "1", "17.5", "18", True, "0.5", "0.5", ""),
    "seen half a mark under, inclusive": ("17.5", "17.5", "30", "1", "17.5", "17", True, "0.5", "0.5", ""),
    # 18.01 - 17.5 = 0.51 > 0.5
    "seen a hair over": ("17.5", "17.5", "30", "1", "17.5", "18.01", False, "0.51", "0.5", "seen"),
    "seen a hair under": ("17.5", "17.5", "30", "1", "17.5", "16.99", False, "0.51", "0.5", "seen"),
    "drawn half a mark over": ("17.5", "17.5", "30", "1", "18", "17.5", True, "0.5", "0.5", ""),
    "drawn a hair over": ("17.5", "17.5", "30", "1", "18.01", "17.5", False, "0.51", "0.5", "drawn"),
    # each within half a mark of the target, but 17.8 - 17.2 = 0.6 apart: the largest less the smallest counts
    "within half a mark of the target, not of each other": (
        "17.5", "17.5", "30", "1", "17.8", "17.2", False, "0.6", "0.5", "",
    ),
    # both read 18.5: required stands alone
    "drawn and seen agree, the target does not": (
        "17.5", "17.5", "30", "1", "18.5", "18.5", False, "1", "0.5", "required",
    ),
    # required and drawn are 18 - 17.5 = 0.5 apart, just half a mark, and so agree; 20 stands alone
    "one far off two that just agree": ("17.5", "17.5", "30", "1", "18", "20", False, "2.5", "0.5", "seen"),
    "all three apart": ("17.5", "17.5", "30", "1", "19", "16", False, "3", "0.5", ""),
    # the published failure: 0.068 mL ordered, 0.68 mL drawn and read; mark 0.01, half 0.005
    "ten times too much, read as agreeing": (
        "0.068", "0.07", "1", "0.01", "0.68", "0.68", False, "0.61", "0.005", "required",
    ),
    # 3 mL syringe, mark 0.1: 2.35 - 2.3 = 0.05
    "a tenth of a millilitre, inclusive": ("2.3", "2.3", "3", "0.1", "2.3", "2.35", True, "0.05", "0.05", ""),
    "a tenth of a millilitre, beyond": (
        "2.3", "2.3", "3", "0.1", "2.3", "2.351", False, "0.051", "0.05", "seen",
    ),
    # 10 mL syringe, mark 0.2: 8.1 - 8 = 0.1
    "a fifth of a millilitre, inclusive": ("8", "8", "10", "0.2", "8", "8.1", True, "0.1", "0.1", ""),
}  # fmt: skip


@pytest.mark.parametrize("case", AGREEMENTS.values(), ids=AGREEMENTS.keys())
def test_the_three_amounts_agree_to_half_a_mark_inclusive(case: tuple[object, ...]) -> None:
    required, target, size, mark, drawn, seen, agrees, spread, half, odd = case
    found = verdict(draw(required, target, size, mark), drawn, seen)
    assert found.agrees is agrees
    assert (found.spread, found.tolerance, found.odd_one) == (Decimal(spread), Decimal(half), odd)
    assert not found.is_content_off or not agrees


#: The content's own limit: 5 % of the unrounded 10 mL is 0.5 mL, inclusive; half of a 2 mL mark is 1 mL.
CONTENTS = {
    "at the limit above": ("10.5", "10", True),
    "a hair above the limit": ("10.501", "10", False),
    "at the limit below": ("9.5", "10", True),
    "a hair below the limit": ("9.499", "10", False),
}


@pytest.mark.parametrize(("amount", "other", "agrees"), CONTENTS.values(), ids=CONTENTS.keys())
def test_the_content_stays_within_the_sites_limit_of_the_unrounded_order(
    amount: str, other: str, agrees: bool
) -> None:
    planned = draw("10", "10", "20", "2")
    for drawn, seen in ((amount, other), (other, amount)):
        found = verdict(planned, drawn, seen)
        assert found.spread <= found.tolerance
        assert found.agrees is agrees
        assert found.is_content_off is not agrees


def test_the_limit_is_taken_of_the_order_not_of_the_rounded_target() -> None:
    # ordered 0.95 mL, rounded to 1 mL at the mark; 5 % of 0.95 is 0.0475, and 1 - 0.95 = 0.05 is beyond it
    planned = draw("0.95", "1", "3", "0.1")
    assert not verdict(planned, "1", "1").agrees
    assert verdict(planned, "1", "1").is_content_off
    # 6 % of 0.95 is 0.057
    assert verdict(planned, "1", "1", limit="6").agrees


def test_nothing_is_off_at_no_tolerance_but_the_exact_amount() -> None:
    assert verdict(draw("10", "10", "20", "1"), "10", "10", limit="0").agrees
    assert not verdict(draw("10", "10", "20", "1"), "10", "10.1", limit="0").agrees


def transfer(*draws: Draw, required: str, times: int = 1) -> Transfer:
    return Transfer(1, Purpose.DRUG, 1, "vancomycin", of(required, "mL"), times, draws)


@pytest.mark.parametrize(
    ("typed", "agrees"),
    # exact 17.3, at the mark 17.5, half a mark 0.5: 16.8 to 18
    [("17.3", True), ("17.5", True), ("16.8", True), ("18", True), ("16.799", False), ("18.001", False)],
)
def test_a_recalculation_agrees_with_the_exact_amount_or_the_one_at_the_mark(
    typed: str, agrees: bool
) -> None:
    asked = transfer(draw("17.3", "17.5"), required="17.3")
    assert recalculation_agrees(asked, of(typed, "mL")) is agrees


@pytest.mark.parametrize(
    ("typed", "agrees"),
    # 72 mL in two syringes of 36 mL each (60 mL, mark 1): the sum is asked for, to half of one mark
    [("72", True), ("72.5", True), ("71.5", True), ("72.6", False), ("36", False)],
)
def test_a_transfer_in_two_draws_is_recalculated_as_their_sum(typed: str, agrees: bool) -> None:
    asked = transfer(draw("36", "36", "60"), draw("36", "36", "60"), required="72")
    assert recalculation_agrees(asked, of(typed, "mL")) is agrees


@pytest.mark.parametrize(("typed", "agrees"), [("2", True), ("2.05", True), ("2.06", False), ("24", False)])
def test_a_batch_is_recalculated_as_one_unit(typed: str, agrees: bool) -> None:
    turns = [draw("2", "2", "3", "0.1", turn) for turn in range(1, 13)]
    assert recalculation_agrees(transfer(*turns, required="2", times=12), of(typed, "mL")) is agrees


def test_the_coarsest_syringe_of_several_sets_the_half_mark() -> None:
    # 60 mL (mark 1) and 5 mL (mark 0.2) together 62 mL: half of the coarser mark is 0.5
    asked = transfer(draw("58", "58", "60", "1"), draw("4", "4", "5", "0.2"), required="62")
    assert recalculation_agrees(asked, of("62.5", "mL"))
    assert not recalculation_agrees(asked, of("62.6", "mL"))
