"""The search for vials to open against enumeration, and the rules against every plan it finds.

Source: enumeration.py, written for it, which tries every way; in-use times are invented.
"""

from collections import Counter
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shift_facts import hours, lot, need, size

from compounding.reckoning import vial_plans
from compounding.reckoning.provisioning import NotEnoughStock, OpenContainer, Sharing, provision
from compounding.reckoning.quantities import number_in, of
from tests.benchmarks.worksheet import hard_shift
from tests.reckoning.enumeration import Shift, best_by_enumeration

HAIR = Decimal("0.000000000000001")  # a price per mg may have no end in decimals

small = st.integers(1, 6)


@st.composite
def shifts(draw: st.DrawFn) -> Shift:
    contents = draw(st.lists(st.integers(2, 6), min_size=1, max_size=3, unique=True))
    sizes = tuple(
        size(
            content,
            str(draw(small)),
            draw(st.sampled_from(list(Sharing))),
            in_use=draw(st.sampled_from([0, 1, 2, 12, 28 * 24])),
            is_kept=draw(st.booleans()),
        )
        for content in contents
    )
    lots = tuple(
        lot(one.code, draw(st.integers(0, 3)), draw(st.sampled_from([1, 2, 3, 100])), f"{one.code}{n}")
        for one in sizes
        for n in range(draw(st.integers(1, 2)))
    )
    needs = tuple(
        need(n, draw(st.integers(1, 9)), draw(st.integers(0, 3)), draw(st.sampled_from(["one", "two"])))
        for n in range(draw(st.integers(1, 4)))
    )
    standing = tuple(
        OpenContainer(
            f"open {n}",
            draw(st.sampled_from([one.code for one in sizes])),
            of(draw(small), "mg"),
            hours(draw(st.sampled_from([-1, 1, 2, 50]))),
            draw(st.sampled_from(["one", "two"])),
        )
        for n in range(draw(st.integers(0, 2)))
    )
    return Shift(needs, sizes, lots, standing)


@st.composite
def tapes(draw: st.DrawFn) -> Shift:
    """Shared containers that outlast the run: where the search prunes hardest."""
    contents = draw(st.lists(st.integers(2, 9), min_size=1, max_size=3, unique=True))
    sizes = tuple(size(content, str(draw(small)), in_use=12) for content in contents)
    lots = tuple(lot(one.code, draw(st.sampled_from([2, 3, 20]))) for one in sizes)
    needs = tuple(need(n, draw(st.integers(1, 12)), at=n) for n in range(draw(st.integers(2, 5))))
    return Shift(needs, sizes, lots, ())


def agrees_with_enumeration(shift: Shift) -> None:
    expected = best_by_enumeration(shift)
    if expected is None:
        with pytest.raises(NotEnoughStock):
            provision(shift.needs, shift.sizes, shift.lots, shift.standing)
        return
    plan = provision(shift.needs, shift.sizes, shift.lots, shift.standing)
    waste, punctures, _ = expected
    assert abs(Fraction(plan.cost) - waste) < Fraction(HAIR)
    assert len(plan.takings) == punctures
    assert plan.is_proved
    assert abs(sum((rest.cost for rest in plan.wasted), Decimal(0)) - plan.cost) < HAIR


@settings(deadline=None)
@given(shifts())
def test_the_search_finds_what_enumeration_finds(shift: Shift) -> None:
    agrees_with_enumeration(shift)


@settings(deadline=None)
@given(st.one_of(shifts(), tapes()))
def test_pruning_by_a_poor_first_plan_loses_nothing(shift: Shift) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(vial_plans, "WIDTHS", (1, 2, 2_000))
        agrees_with_enumeration(shift)


@settings(deadline=None)
@given(shifts())
def test_every_plan_keeps_the_rules(shift: Shift) -> None:
    try:
        plan = provision(shift.needs, shift.sizes, shift.lots, shift.standing)
    except NotEnoughStock:
        return
    needs = {one.name: one for one in shift.needs}
    sizes = {one.code: one for one in shift.sizes}
    for one in shift.needs:
        given_to = sum(number_in(t.content, "mg") for t in plan.takings if t.need == one.name)
        assert given_to == number_in(one.content, "mg")
    for name, count in Counter(opening.lot for opening in plan.openings).items():
        assert count <= next(one.count for one in shift.lots if one.lot == name)
    for opening in plan.openings:
        kind, users = (
            sizes[opening.size],
            [needs[t.need] for t in plan.takings if t.container == opening.name],
        )
        first = needs[opening.need].at
        ends = next(one.ends_at for one in shift.lots if one.lot == opening.lot)
        assert first < ends
        assert all(user.at <= min(first + kind.in_use, ends) for user in users)
        assert kind.sharing is Sharing.ANYONE or len({user.patient for user in users}) == 1
        assert kind.sharing is not Sharing.NOBODY or len(users) == 1
        drawn = sum(number_in(t.content, "mg") for t in plan.takings if t.container == opening.name)
        assert 0 < drawn <= number_in(kind.content, "mg")


@pytest.mark.parametrize("seed", [5, 14, 21])
def test_the_search_of_a_hard_shift_ends(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    # 40 preparations of 6 sizes; only by a thread may it go beyond its effort, so that there is a plan
    tried: list[int] = []
    best = vial_plans.Pursuit.best

    def counted(pursuit: vial_plans.Pursuit) -> vial_plans.Found | None:
        found = best(pursuit)
        tried.append(pursuit.tried)
        return found

    monkeypatch.setattr(vial_plans.Pursuit, "best", counted)
    plan = provision(*hard_shift(seed), effort=15_000)
    assert {taking.need for taking in plan.takings} == {str(number) for number in range(40)}
    assert max(tried) <= 15_000 + 60_000
