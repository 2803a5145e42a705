"""Vials to open: who may share what, what is opened first, what is wasted, and published answers.

Sources: shared/published/worked_examples.json, by title, page or memory; in-use times of USP
<797> 2023 (memory). First to end first: common practice, no source.
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from published import examples
from shift_facts import EIGHT, hours, lot, need, size

from compounding.reckoning.provisioning import (
    Need,
    NotEnoughStock,
    OpenContainer,
    Provision,
    Sharing,
    Size,
    StockLot,
    provision,
)
from compounding.reckoning.quantities import number_in, of
from compounding.reckoning.refusals import NotConvertible, OutOfRange

EXAMPLES = examples("vials_waste")


def taken(plan: Provision) -> list[tuple[str, str, str]]:
    return [(one.need, one.container, str(number_in(one.content, "mg"))) for one in plan.takings]


def wasted(plan: Provision) -> Decimal:
    return sum((number_in(one.content, "mg") for one in plan.wasted), Decimal(0))


def test_an_ampoule_serves_one_preparation_and_its_rest_is_wasted() -> None:
    ampoule = size(10, "2", Sharing.NOBODY)
    plan = provision([need(1, 6), need(2, 4)], [ampoule], [lot("10 mg")])
    assert taken(plan) == [("bag 1", "10 mg 1", "6"), ("bag 2", "10 mg 2", "4")]
    assert (wasted(plan), plan.cost, plan.is_proved) == (10, Decimal(2), True)


def test_a_shared_vial_serves_two_patients_within_its_time() -> None:
    plan = provision([need(1, 6), need(2, 4, at=12)], [size(10)], [lot("10 mg")])
    assert taken(plan) == [("bag 1", "10 mg 1", "6"), ("bag 2", "10 mg 1", "4")]
    late = provision([need(1, 6), need(2, 4, at=13)], [size(10)], [lot("10 mg")])
    assert [opening.name for opening in late.openings] == ["10 mg 1", "10 mg 2"]
    assert wasted(late) == 10


def test_a_vial_bound_to_its_patient_serves_no_other() -> None:
    bound = size(10, sharing=Sharing.PATIENT)
    orders = [need(1, 5, patient="one"), need(2, 5, patient="two"), need(3, 5, patient="one")]
    plan = provision(orders, [bound], [lot("10 mg")])
    assert taken(plan) == [("bag 1", "10 mg 1", "5"), ("bag 2", "10 mg 2", "5"), ("bag 3", "10 mg 1", "5")]
    nameless = provision([need(1, 5, patient=""), need(2, 5, patient="")], [bound], [lot("10 mg")])
    assert len(nameless.openings) == 2


def test_the_lot_that_ends_first_is_opened_first_and_none_out_of_date() -> None:
    lots = [lot("10 mg", 1, 900, "later"), lot("10 mg", 1, 800, "sooner"), lot("10 mg", 9, 0, "over")]
    plan = provision([need(1, 10), need(2, 10)], [size(10)], lots)
    assert [opening.lot for opening in plan.openings] == ["sooner", "later"]


def test_what_stands_open_is_used_up_first_in_the_order_of_its_end() -> None:
    standing = [
        OpenContainer("opened late", "10 mg", of(4, "mg"), hours(20)),
        OpenContainer("opened early", "10 mg", of(3, "mg"), hours(10)),
        OpenContainer("out of its time", "10 mg", of(9, "mg"), hours(-1)),
    ]
    plan = provision([need(1, 8)], [size(10)], [lot("10 mg")], standing)
    assert taken(plan) == [
        ("bag 1", "opened early", "3"),
        ("bag 1", "opened late", "4"),
        ("bag 1", "10 mg 1", "1"),
    ]


def test_the_rest_of_an_ampoule_or_of_nobody_knows_whose_is_never_used() -> None:
    for sharing in (Sharing.NOBODY, Sharing.PATIENT):
        standing = [OpenContainer("rest", "10 mg", of(9, "mg"), hours(20))]
        plan = provision([need(1, 5)], [size(10, sharing=sharing)], [lot("10 mg")], standing)
        assert taken(plan) == [("bag 1", "10 mg 1", "5")]


def test_least_waste_comes_before_fewest_punctures() -> None:
    sizes = [size(10, "10"), size(6, "6"), size(4, "4")]
    plan = provision([need(1, 14)], sizes, [lot("10 mg"), lot("6 mg"), lot("4 mg")])
    assert (plan.cost, len(plan.takings)) == (0, 2)
    assert sorted(opening.size for opening in plan.openings) == ["10 mg", "4 mg"]


def test_a_multiple_dose_vial_that_is_kept_wastes_nothing() -> None:
    kept = size(100, "50", is_kept=True, in_use=28 * 24)
    plan = provision([need(1, 5)], [size(10), kept], [lot("10 mg"), lot("100 mg")])
    assert (plan.wasted, plan.cost) == ((), 0)
    assert taken(plan) == [("bag 1", "100 mg 1", "5")]


def test_the_plan_is_written_in_words() -> None:
    standing = [OpenContainer("10 mg of this morning", "10 mg", of(4, "mg"), hours(5))]
    plan = provision([need(1, 12)], [size(10, "2.50")], [lot("10 mg", name="L7")], standing)
    assert [f"{line.about}: {line.text}" for line in plan.lines] == [
        "bag 1: 4 mg from 10 mg of this morning, already open",
        "bag 1: 8 mg from 10 mg 1, opened now from lot L7",
        "waste: 2 mg of 10 mg 1, worth 0.5",
        "plan: waste worth 0.5, 2 punctures; no plan wastes less",
    ]


def test_too_little_stock_is_refused_with_both_amounts() -> None:
    with pytest.raises(NotEnoughStock, match="30 mg wanted in all, 20 mg in stock"):
        provision([need(1, 15), need(2, 15)], [size(10)], [lot("10 mg", 2)])


def test_contents_of_two_kinds_and_of_nothing_are_refused() -> None:
    with pytest.raises(NotConvertible):
        provision([Need("bag", "one", EIGHT, of(5, "units"))], [size(10)], [lot("10 mg")])
    with pytest.raises(OutOfRange, match="A content cannot be 0 mg"):
        provision([need(1, 0)], [size(10)], [lot("10 mg")])
    with pytest.raises(OutOfRange, match="takes at most 100"):
        provision([need(1, 1001)], [size(10)], [lot("10 mg", 200)])


def test_nothing_wanted_opens_nothing() -> None:
    assert provision([], [size(10)], [lot("10 mg")]).openings == ()


def test_a_search_cut_short_does_not_call_its_plan_proved() -> None:
    sizes = [size(content, str(content)) for content in (7, 11, 13, 17)]
    needs = [need(number, 5 + number * 7 % 23, at=number // 8) for number in range(30)]
    lots = [lot(one.code, 40) for one in sizes]
    short, whole = provision(needs, sizes, lots, effort=1), provision(needs, sizes, lots)
    assert (short.is_proved, whole.is_proved) == (False, True)
    assert (whole.cost, len(whole.takings)) <= (short.cost, len(short.takings))
    assert short.lines[-1].text.endswith("not proved: a better plan may exist")


def vials(content: str, unit: str, needs: list[str], sharing: Sharing) -> Provision:
    vial = Size("vial", of(content, unit), Decimal(1), sharing, timedelta(hours=12))
    wanted = [Need(f"bag {n}", f"p{n}", EIGHT, of(one, unit)) for n, one in enumerate(needs)]
    return provision(wanted, [vial], [StockLot("vial", "A", hours(1000), 100)])


COUNTED = {
    "WX292": ("150", "mg", ["125"] * 30),
    "WX293": ("1", "mg", ["0.1"] * 30),
    "WX359": ("5", "g", ["21"]),
}
DISCARDED = {
    "WX355": ("100", "units", ["95"]),
    "WX356": ("100", "mg", ["95"]),
    "WX357": ("100", "mg", ["75"]),
}


@pytest.mark.parametrize("name", sorted(COUNTED), ids=lambda name: f"{name}-{EXAMPLES[name]['mark']}")
def test_the_published_number_of_containers_is_opened(name: str) -> None:
    plan = vials(*COUNTED[name], Sharing.ANYONE)
    assert len(plan.openings) == int(EXAMPLES[name]["expected_value"])


@pytest.mark.parametrize("name", sorted(DISCARDED), ids=lambda name: f"{name}-{EXAMPLES[name]['mark']}")
def test_the_published_rest_is_discarded(name: str) -> None:
    plan = vials(*DISCARDED[name], Sharing.NOBODY)
    (rest,) = plan.wasted
    assert rest.content == of(EXAMPLES[name]["expected_value"], EXAMPLES[name]["expected_unit"])


def test_no_published_example_is_forgotten() -> None:
    # Left out: saline to fill up (WX294) and days that a bottle covers (WX360) are no question of opening.
    assert set(COUNTED) | set(DISCARDED) | {"WX294", "WX360"} == set(EXAMPLES)
