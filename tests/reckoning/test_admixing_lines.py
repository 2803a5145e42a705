"""The working of what ends up in a container, word by word, and every refusal as the pharmacist reads it.

Numbers by hand: a bag of 50 mL with 5 mL of overfill that holds 80 mL. Source: standards.md section 6 (page).
"""

from dataclasses import replace

import pytest
from prepared_orders import bag

from compounding.reckoning.admixing import (
    Admixture,
    check_concentration,
    concentration,
    into_bag,
    method_for,
    to_volume,
)
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import of
from compounding.reckoning.refusals import CannotBeMade, Refusal
from compounding.reckoning.request import Method

TEN = Policy().withdraw_over_percent
BAG = bag(50, 5, 80)


def lines(mixed: Admixture) -> list[tuple[str, str]]:
    return [(line.about, line.text) for line in mixed.lines]


@pytest.mark.parametrize(
    ("method", "additive", "written"),
    [
        (
            "policy",
            "5",  # 5 ÷ 50 = 10 percent, not above 10
            [
                ("method", "additive is 10 % of the labelled volume, not above 10 %: add only (policy)"),
                ("labelled volume", "50 mL + 5 mL = 55 mL"),
                ("true volume", "50 mL + 5 mL overfill + 5 mL = 60 mL"),
            ],
        ),
        (
            "policy",
            "6",  # 6 ÷ 50 = 12 percent
            [
                ("method", "additive is 12 % of the labelled volume, above 10 %: withdraw equal (policy)"),
                ("withdraw first", "6 mL = the additive"),
                ("labelled volume", "50 mL − 6 mL + 6 mL = 50 mL"),
                ("true volume", "50 mL + 5 mL overfill − 6 mL + 6 mL = 55 mL"),
            ],
        ),
        (
            "add only",
            "20",  # the order's own word: 40 percent and yet only added
            [
                ("method", "additive is 40 % of the labelled volume; add only (order)"),
                ("labelled volume", "50 mL + 20 mL = 70 mL"),
                ("true volume", "50 mL + 5 mL overfill + 20 mL = 75 mL"),
            ],
        ),
        (
            "withdraw additive and overfill",
            "20",  # 20 + 5 = 25 out; 50 + 5 − 25 + 20 = 50
            [
                (
                    "method",
                    "additive is 40 % of the labelled volume; withdraw additive and overfill (order)",
                ),
                ("withdraw first", "20 mL + 5 mL overfill = 25 mL"),
                ("true volume", "50 mL + 5 mL overfill − 25 mL + 20 mL = 50 mL"),
            ],
        ),
    ],
)
def test_each_way_into_a_bag_is_worked_in_words(
    method: str, additive: str, written: list[tuple[str, str]]
) -> None:
    assert lines(into_bag(of(additive, "mL"), BAG, method, TEN)) == written


def test_filling_up_is_worked_in_words_and_says_its_method() -> None:
    filled = to_volume(of(20, "mL"), of(100, "mL"), None)
    assert lines(filled) == [("diluent to fill with", "100 mL − 20 mL = 80 mL")]
    assert (filled.method, filled.withdrawn, filled.true_volume) == (
        Method.FILL_TO_VOLUME,
        of(0, "mL"),
        of(100, "mL"),
    )
    alone = to_volume(of(20, "mL"), of(20, "mL"), of(20, "mL"))
    assert (alone.method, alone.filled, alone.lines) == (Method.ADD_ONLY, of(0, "mL"), ())


def test_the_orders_own_method_is_taken_as_it_is() -> None:
    assert method_for("add only", of(49, "mL"), BAG, TEN) is Method.ADD_ONLY
    assert method_for("policy", of("5.01", "mL"), BAG, TEN) is Method.WITHDRAW_EQUAL


@pytest.mark.parametrize(
    ("additive", "method", "sentence"),
    [
        (
            "30",  # 50 + 5 + 30 = 85
            "add only",
            "85 mL does not fit the bag, which holds at most 80 mL. Choose a larger one.",
        ),
        (
            "56",  # only 55 mL are in the bag
            "withdraw equal",
            "56 mL cannot be withdrawn: the bag holds 55 mL. Choose a larger bag or fill an empty one.",
        ),
        (
            "10",
            "fill to volume",
            "The method for a bag of diluent cannot be fill to volume. "
            "Write another method, or an empty bag.",
        ),
    ],
)
def test_what_a_bag_does_not_take_is_refused_in_words(additive: str, method: str, sentence: str) -> None:
    with pytest.raises(Refusal) as refused:
        into_bag(of(additive, "mL"), BAG, method, TEN)
    assert refused.value.sentence == sentence


@pytest.mark.parametrize(
    ("additive", "final", "capacity", "sentence"),
    [
        (
            "120",
            "100",
            None,
            "120 mL does not fit the final volume, which holds at most 100 mL. Choose a larger one.",
        ),
        (
            "20",
            "200",
            "150",
            "200 mL does not fit the container, which holds at most 150 mL. Choose a larger one.",
        ),
    ],
)
def test_what_an_empty_container_does_not_take_is_refused_in_words(
    additive: str, final: str, capacity: str | None, sentence: str
) -> None:
    with pytest.raises(Refusal) as refused:
        to_volume(of(additive, "mL"), of(final, "mL"), of(capacity, "mL") if capacity else None)
    assert refused.value.sentence == sentence


@pytest.mark.parametrize("additive", ["50", "55"])
def test_all_that_is_in_the_bag_may_be_withdrawn(additive: str) -> None:
    # 55 mL are in it, overfill and all
    mixed = into_bag(of(additive, "mL"), BAG, "withdraw equal", TEN)
    assert (mixed.withdrawn, mixed.true_volume) == (of(additive, "mL"), of(55, "mL"))


def test_a_container_may_be_full() -> None:
    # 50 + 5 + 25 = 80
    assert into_bag(of(25, "mL"), BAG, "add only", TEN).true_volume == of(80, "mL")
    assert to_volume(of(20, "mL"), of(150, "mL"), of(150, "mL")).filled == of(130, "mL")
    with pytest.raises(CannotBeMade):
        into_bag(of(25, "mL"), replace(BAG, capacity=of("79.9", "mL")), "add only", TEN)


def test_a_concentration_outside_is_refused_in_words() -> None:
    five = concentration(of(500, "mg"), of(100, "mL"))
    with pytest.raises(CannotBeMade) as high:
        check_concentration("vancomycin", five, "labelled", (None, of(4, "mg/mL")))
    assert high.value.sentence == (
        "vancomycin would be 5 mg/mL on the labelled volume, above the limit of 4 mg/mL. Use more diluent."
    )
    with pytest.raises(CannotBeMade) as low:
        check_concentration("vancomycin", five, "true", (of(6, "mg/mL"), None))
    assert low.value.sentence == (
        "vancomycin would be 5 mg/mL on the true volume, below the least of 6 mg/mL. Use less diluent."
    )
