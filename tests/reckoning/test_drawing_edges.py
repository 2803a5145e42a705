"""Drawing at its edges: limits met exactly, two syringes judged as one, other stocks, every reason in words.

Every number is worked by hand beside its case. Tolerances: ISO 7886-1 Table 1 (standards.md section 5);
choice and limits: policy (common practice, no source).
"""

from decimal import Decimal
from typing import Any

import pytest
from prepared_orders import stricter

from compounding.reckoning.drawing import Demands, demands_of, fills_for, several, two_sizes
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import of
from compounding.reckoning.refusals import NotMeasurable
from compounding.reckoning.syringes import budget, size_of, tolerance
from compounding.reckoning.worksheet import Syringe

D = Decimal
WEAKER = "Take a weaker product or make an intermediate dilution."


def stock(**marks: str) -> tuple[Syringe, ...]:
    """Sizes in mL and their marks: ``stock(_1="0.01", _30="1")``."""
    return tuple(Syringe(of(size[1:], "mL"), of(mark, "mL")) for size, mark in marks.items())


def pairs_of(fills: Any) -> list[tuple[str, str]]:
    return [(f"{fill.target.normalize():f}", f"{fill.size.top:f}") for fill in fills]


def drawn(volume: str, hazardous: bool = False, **limits: Any) -> list[tuple[str, str]]:
    return pairs_of(fills_for(of(volume, "mL"), demands_of(stricter(**limits), hazardous)))


def refusal(volume: str, **limits: Any) -> str:
    with pytest.raises(NotMeasurable) as refused:
        drawn(volume, **limits)
    return refused.value.sentence


def two(wanted: str, strength: str = "0", limit: str | None = None, **policy: Any) -> list[tuple[str, str]]:
    """The pair alone, also where one syringe would do."""
    plain = demands_of(stricter(**policy))
    asked = Demands(plain.policy, plain.sizes, D(strength), None if limit is None else D(limit))
    return pairs_of(two_sizes(D(wanted), asked))


def test_exactly_four_fifths_full_is_still_a_good_fill() -> None:
    # 16 mL is 80 percent of 20 mL; in 20 mL and 30 mL alike it is at least half, so 4 percent off
    assert drawn("16") == [("16", "20")]
    assert drawn("16.5") == [("16.5", "30")]


def test_errors_are_compared_to_a_tenth_of_a_percent() -> None:
    # 9.5 mL: 9.6 in 10 mL √(1.0526² + 4²) = 4.136, 9.5 in 20 mL (1.5 % × 20 + 1 % × 9.5) ÷ 9.5 = 4.158
    assert drawn("9.5") == [("9.6", "10")]
    # 29.3 mL: 29.5 in 30 mL √(0.6826² + 4²) = 4.058, in 60 mL √(0.6826² + 4.0508²) = 4.108: alike to 0.1, so
    # the good fill decides
    assert drawn("29.3") == [("29.5", "60")]


def test_the_mark_below_is_never_above() -> None:
    size = size_of(Syringe(of(30, "mL"), of(1, "mL")), Policy(), hazardous=False)
    assert size.mark_below(D("21.7")) == 21
    assert size.mark_below(D(22)) == 22


def test_no_fill_is_no_draw_even_where_policy_sets_no_least() -> None:
    # 0.2 mL rounds to nothing on every size from 5 mL upwards whose step is 0.5; only real fills remain
    assert drawn("0.2", least_fill_percent=D(0)) == [("0.2", "1")]
    assert "closest mark" in refusal("0.034", least_fill_percent=D(0), rounding_limit_percent=D(2))
    # 0.004 mL is below half of the finest step: no mark at all
    assert "no set of draws rounds it by at most 2 %" in refusal("0.004", least_fill_percent=D(0))


def test_the_nearest_mark_of_the_largest_decides_whether_one_is_enough() -> None:
    # 60.2 mL is 60 mL at the 0.5 mL step of the 60 mL syringe; the 10 mL syringe beside it has finer marks
    assert drawn("60.2", syringes=stock(_10="0.2", _60="1")) == [("60", "60")]
    # rounding 0.2 ÷ 60.2 = 0.33 percent breaks a limit of 0.1: then 60 and the rest, not two of 30 and a rest
    assert drawn("60.2", rounding_limit_percent=D("0.1")) == [("60", "60"), ("0.2", "1")]


def test_a_most_between_two_marks() -> None:
    # 70.5 percent of 60 mL is 42.3 mL, whose nearest mark, 42.5, is above it
    found = drawn("42.3", hazardous=True, hazardous_fill_percent=D("70.5"))
    assert found == [("42", "60"), ("0.3", "1")]


def test_fewest_draws_each_rounded_down_to_its_top_mark() -> None:
    # 120.3 ÷ 2 = 60.15, nearest 60: 0.25 percent off
    assert drawn("120.3") == [("60", "60")] * 2
    # 120.5 ÷ 2 = 60.25, half up 60.5: does not fit
    assert drawn("120.5") == [("40", "60")] * 3


def test_the_last_of_several_may_be_the_smaller_one() -> None:
    # 0.3 is 0.25 percent of 120.3, 0.1 percent of it each for three; marks of 60 mL alone do not serve at 0.2
    assert drawn("120.3", rounding_limit_percent=D("0.2")) == [("60", "60"), ("60", "60"), ("0.3", "1")]
    # stock of 60 mL only, no rounding: of two, 59 leaves 60.5, which does not fit; 60 leaves 59.5
    only = {"syringes": stock(_60="1"), "rounding_limit_percent": D(0)}
    assert drawn("119.5", **only) == [("60", "60"), ("59.5", "60")]
    assert "no set of draws" in refusal("119.6", **only)
    # 33: 59 each leave 74.5, 60 each leave 42.5
    assert drawn("1962.5", **only) == [("60", "60")] * 32 + [("42.5", "60")]


def test_as_many_draws_as_policy_allows_and_no_more() -> None:
    assert drawn("2400") == [("60", "60")] * 40
    # 2,401 ÷ 40 = 60.025, nearest 60
    assert drawn("2401") == [("60", "60")] * 40
    # without rounding: 39 × 59 leave 98.5, 39 × 60 leave 59.5
    assert drawn("2399.5", rounding_limit_percent=D(0)) == [("60", "60")] * 39 + [("59.5", "60")]
    # 39 × 60 leave 59.3, which is 59 and 0.3: 41 would be too many
    assert "no set of draws" in refusal("2399.3", rounding_limit_percent=D(0))
    assert drawn("121", most_draws=3) == [("40.5", "60")] * 3
    assert "more than 2 syringes" in refusal("121", most_draws=2)
    assert several(D(121), demands_of(stricter(most_draws=2))) == ()


def test_one_draw_more_than_hold_it_all_is_tried() -> None:
    # 60 mL up to 40, no rounding: 80.65 is 40, 40 and 0.65
    only = {"syringes": stock(_1="0.01", _60="1"), "rounding_limit_percent": D(0)}
    full = {"hazardous_fill_percent": D(200) / 3}
    assert drawn("80.65", hazardous=True, **only, **full) == [("40", "60"), ("40", "60"), ("0.65", "1")]


def test_sizes_that_may_not_hold_the_share_are_passed_over() -> None:
    # least fill 60 percent: 60 mL from 36, 30 mL from 18. Two: 35 fits neither; 40 leaves 30, for 30 mL
    found = drawn("70", least_fill_percent=D(60), rounding_limit_percent=D("0.1"))
    assert found == [("40", "60"), ("30", "30")]


def test_rounding_at_the_limit_is_within_policy() -> None:
    # 12.5 mL at whole marks is 13 mL (half up): 0.5 ÷ 12.5 = 4 percent
    whole = {"syringes": stock(_30="1"), "half_marks_from": of(2, "mL")}
    assert drawn("12.5", rounding_limit_percent=D(4), **whole) == [("13", "30")]
    assert refusal("12.5", rounding_limit_percent=D("3.99"), **whole) == (
        "12.5 mL is not measurable this way: the closest mark, 13 mL in a 30 mL syringe, is 4 % off, "
        f"policy allows 3.99 %. {WEAKER}"
    )
    # (1.5 % × 30 + 1 % × 13) ÷ 13 = 4.4615 percent; root of 4² + 4.4615² = 5.99
    at_limit = {"rounding_limit_percent": D(4), "instrument_limit_percent": D(5), **whole}
    assert refusal("12.5", **at_limit) == (
        "12.5 mL is not measurable this way: the expected error is 5.99 %, at most 5 % is allowed. " + WEAKER
    )


def test_the_reasons_name_the_closest_syringe() -> None:
    # 2 mL: 5 mL (1.5 % × 5 + 1 % × 2) ÷ 2 = 4.75 percent; 3 mL 5 percent; 10 mL 8.5 percent
    assert refusal("2", instrument_limit_percent=D(3)) == (
        f"2 mL is not measurable this way: the expected error is 4.75 %, at most 3 % is allowed. {WEAKER}"
    )
    assert refusal("0.05") == (
        f"0.05 mL is not measurable this way: the smallest syringe (1 mL) is used from 0.2 mL up. {WEAKER}"
    )
    assert refusal("2500") == (
        f"2,500 mL is not measurable this way: it would take more than 40 syringes. {WEAKER}"
    )
    assert refusal("1300.333", rounding_limit_percent=D(0)) == (
        f"1,300.33 mL is not measurable this way: no set of draws rounds it by at most 0 %. {WEAKER}"
    )
    # 40 syringes of 60 mL would hold it; 4 percent is their error
    assert refusal("2400", instrument_limit_percent=D(3)) == (
        "2,400 mL is not measurable this way: drawn in 40 syringes it has an expected error of up to 4 % "
        f"each, at most 3 % is allowed. {WEAKER}"
    )


def test_a_gap_in_the_stock_is_not_blamed_on_the_smallest_syringe() -> None:
    # 1 mL holds up to 1 mL, 60 mL from 12 mL: nothing for 5 mL
    assert "no set of draws" in refusal("5", syringes=stock(_1="0.01", _60="1"))
    # 20.4 percent of 1 mL is 0.204 mL: the least itself is not too little, but 0.20 is
    assert "no set of draws" in refusal("0.204", syringes=stock(_1="0.01"), least_fill_percent=D("20.4"))


def test_two_sizes_meet_a_limit_of_nothing_exactly() -> None:
    assert two("21.7", rounding_limit_percent=D(0)) == [("21", "30"), ("0.7", "1")]


def test_what_two_sizes_round_together_is_judged_on_the_whole() -> None:
    # 21.704 = 21 + 0.70 and 0.004 off: 0.004 ÷ 21.704 = 0.0184 percent
    small = {"syringes": stock(_1="0.01", _30="1")}
    assert two("21.704", rounding_limit_percent=D("0.019"), **small) == [("21", "30"), ("0.7", "1")]
    assert two("21.704", rounding_limit_percent=D("0.018"), **small) == []


def test_two_sizes_add_up_in_quadrature_with_the_rounding() -> None:
    # 5.7 mL = 5 in 10 mL (4 percent, 0.2 mL) + 0.5 in 1 mL at half marks (5 percent, 0.025 mL); 0.2 mL off.
    # rounding 3.5088; instruments √(0.2² + 0.025²) ÷ 5.7 = 3.5361; together √(12.311 + 12.504) = 4.9815
    coarse = {"syringes": stock(_1="0.5", _10="1"), "half_marks_from": of(2, "mL")}
    limit = {"rounding_limit_percent": D(4), **coarse}
    assert two("5.7", limit="4.99", **limit) == [("5", "10"), ("0.5", "1")]
    assert two("5.7", limit="4.97", **limit) == []


def test_two_sizes_count_the_strength_too() -> None:
    # 21 in 30 mL: 0.84 mL; 0.7 in 1 mL: 0.035 mL; √ = 0.84073; ÷ 21.7 = 3.8743 percent; with 3: √(15.01 + 9)
    # = 4.90
    small = {"syringes": stock(_1="0.01", _30="1"), "rounding_limit_percent": D(0)}
    assert two("21.7", strength="3", limit="4.91", **small) == [("21", "30"), ("0.7", "1")]
    assert two("21.7", strength="3", limit="4.89", **small) == []


def test_the_expected_error_of_two_sizes_may_be_just_the_limit() -> None:
    # 5 in 10 mL: 0.2 mL; 3 in 3 mL: 0.15 mL; √(0.04 + 0.0225) = 0.25; ÷ 8 = 3.125 percent. 5.2 + 2.8 is 3.134
    small = {"syringes": stock(_3="0.1", _10="0.2"), "rounding_limit_percent": D(0)}
    assert two("8", limit="3.125", **small) == [("5", "10"), ("3", "3")]
    assert two("8", limit="3.124", **small) == []


def test_of_two_pairs_the_more_exact_one_is_taken_though_it_is_larger() -> None:
    # 2.7 (3 mL, 5 percent) + 0.27: 4.6 percent; 2.6 (5 mL, 4 percent) + 0.37: 3.6 percent
    assert drawn("2.97", rounding_limit_percent=D("0.1")) == [("2.6", "5"), ("0.37", "1")]


def test_of_two_pairs_alike_the_smaller_is_taken_even_if_it_is_full() -> None:
    # 20 in 20 mL and 20 in 30 mL are both 4 percent off; 20 mL holds all whole marks of 20.7 mL
    assert drawn("20.7", rounding_limit_percent=D("0.5")) == [("20", "20"), ("0.7", "1")]


def test_the_larger_of_two_sizes_goes_down_to_its_least_fill_and_not_below() -> None:
    small = {"syringes": stock(_1="0.01", _5="0.2"), "rounding_limit_percent": D("0.5")}
    # 1.2 leaves 0.07, below 0.2; 1.0 is the least of 5 mL and leaves 0.27
    assert drawn("1.27", **small) == [("1", "5"), ("0.27", "1")]
    # 1.0 leaves 0.1; 0.8 would leave 0.3, but 5 mL is not used below 1 mL
    assert "closest mark, 1.2 mL in a 5 mL syringe, is 9.09 % off" in refusal("1.1", **small)


def test_the_rest_is_less_than_what_goes_before() -> None:
    # whole marks of 10 mL: 6 leaves 2, below 40 percent of 6 mL; 4 leaves as much as itself
    assert two("8", syringes=stock(_6="0.2", _10="2"), least_fill_percent=D(40)) == []


@pytest.mark.parametrize(("top", "volume"), [("3", "1.5"), ("10", "5"), ("60", "30")])
def test_both_rules_of_the_standard_meet_at_half_of_the_nominal_volume(top: str, volume: str) -> None:
    below, above = D(volume) - D("0.0001"), D(volume) + D("0.0001")
    assert abs(tolerance(D(top), above) - tolerance(D(top), below)) < D("0.00002")


def test_the_budget_squares_each_part() -> None:
    # 3-4-5: 6 mL in 10 mL is 4 percent off, strength 3: √(16 + 9) = 5
    assert budget(D(10), D(6), D(6), D(3)).expected == 5
