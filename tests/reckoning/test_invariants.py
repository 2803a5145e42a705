"""What must hold for any amounts, whatever the numbers: the invariants that no other test of a module states.

The whole list, with the tests that stand elsewhere, is shared/guide/invariants.md. Source of each: definition
(mass is neither made nor lost), or the design's own rule where the name says so.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from prepared_orders import (
    ACYCLOVIR,
    CEFAZOLIN,
    ONDANSETRON_MULTI,
    VANCOMYCIN,
    bag,
    in_syringes,
    ingredient,
    order,
)

from compounding.reckoning.admixing import into_bag, to_volume
from compounding.reckoning.body import surface
from compounding.reckoning.dilution import alligation, diluted_strength, stock_volume
from compounding.reckoning.infusion import pump_rate, run_time
from compounding.reckoning.isotonicity import e_from_volume, isotonic_volume
from compounding.reckoning.osmolarity import Part, Solute, osmolarity_of
from compounding.reckoning.portions import shares
from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.reckon import reckon
from compounding.reckoning.reconstitution import containers_for
from compounding.reckoning.refusals import Refusal, WithoutProof
from compounding.reckoning.request import Method
from compounding.reckoning.strengths import volume_of
from compounding.reckoning.substances import SUBSTANCES, mass_of, milliequivalents, substance
from compounding.reckoning.syringes import budget
from compounding.reckoning.worksheet import Purpose, Worksheet

D = Decimal
HAIR = D("1E-20")
doses = st.decimals("100", "5000", places=1)
strengths = st.decimals("0.1", "500", places=1)
volumes = st.decimals("0.1", "1000", places=2)
percents = st.decimals("0.1", "99", places=1)


def near(one: Decimal, other: Decimal) -> bool:
    return abs(one - other) <= HAIR * max(abs(one), abs(other), D(1))


def sheet_of(dose: Quantity) -> Worksheet:
    return reckon(order(ingredient(VANCOMYCIN, dose), vehicle=bag(1000, 60)))


@given(doses, st.sampled_from([VANCOMYCIN, CEFAZOLIN, ACYCLOVIR]))
def test_the_draws_of_a_worksheet_re_add_to_the_order(dose: Decimal, product: object) -> None:
    sheet = reckon(order(ingredient(product, of(dose, "mg")), vehicle=bag(1000, 60)))  # type: ignore[arg-type]
    (given_drug,) = (one for one in sheet.transfers if one.purpose is Purpose.DRUG)
    drawn = sum(number_in(draw.target, "mL") for draw in given_drug.draws)
    content = drawn * number_in(sheet.ingredients[0].strength, "mg/mL")
    assert abs(content - dose) / dose * 100 <= 2  # the rounding limit of policy


@given(st.decimals("100", "5000", places=1), st.integers(1, 12))
def test_the_portions_of_a_draw_sum_to_it(dose: Decimal, units: int) -> None:
    batch = in_syringes(ingredient(ONDANSETRON_MULTI, of(4, "mg")), units=units)
    for sheet in (sheet_of(of(dose, "mg")), reckon(batch)):
        for draw in sheet.draws:
            assert sum(number_in(one.volume, "mL") for one in draw.sources) == number_in(draw.target, "mL")


@given(
    st.lists(st.tuples(st.integers(1, 300), st.sampled_from([1, 2, 5, 10])), min_size=1, max_size=6),
    st.integers(2, 100),
)
def test_no_container_gives_more_than_it_holds(draws: list[tuple[int, int]], held: int) -> None:
    wanted = [(D(marks * step) / 10, D(step) / 10) for marks, step in draws]
    holds = D(held)
    needed = containers_for(of(sum(volume for volume, _ in wanted), "mL"), of(holds, "mL"))
    taken: dict[int, Decimal] = {}
    for (volume, _), portions in zip(wanted, shares(wanted, holds, needed), strict=True):
        assert sum(share for _, share in portions) == volume
        for at, share in portions:
            assert share > 0
            taken[at] = taken.get(at, D(0)) + share
    assert max(taken.values()) <= holds


@given(doses)
def test_no_worksheet_without_a_proof(dose: Decimal) -> None:
    sheet = sheet_of(of(dose, "mg"))
    assert sheet.proof
    with pytest.raises(WithoutProof):
        replace(sheet, proof=())


@given(st.sampled_from(["1", "3", "5", "10", "20", "30", "60"]), st.integers(20, 100), st.integers(-5, 5),
       st.decimals("0", "5", places=2))  # fmt: skip
def test_the_parts_of_an_error_budget_make_its_sums(
    size: str, fill: int, off: int, strength: Decimal
) -> None:
    top = D(size)
    target = top * fill / 100
    error = budget(top, target * (100 + off) / 100, target, strength)
    parts = (error.rounding, error.instrument, error.strength)
    assert error.worst == sum(parts)
    assert near(error.expected**2, sum((part**2 for part in parts), D(0)))
    assert max(parts) <= error.expected + HAIR
    assert error.expected <= error.worst + HAIR


@given(doses, st.integers(2, 9), strengths)
def test_so_many_times_the_dose_is_so_many_times_the_volume(
    dose: Decimal, factor: int, strength: Decimal
) -> None:
    once = volume_of(of(dose, "mg"), of(strength, "mg/mL")).amount
    often = volume_of(of(dose * factor, "mg"), of(strength, "mg/mL")).amount
    weaker = volume_of(of(dose, "mg"), of(strength / factor, "mg/mL")).amount
    assert near(number_in(often, "mL"), number_in(once, "mL") * factor)
    assert near(number_in(weaker, "mL"), number_in(once, "mL") * factor)


@given(doses, doses)
def test_more_drug_never_takes_less_volume_or_fewer_containers(one: Decimal, other: Decimal) -> None:
    less, more = sorted((one, other))
    small, large = sheet_of(of(less, "mg")), sheet_of(of(more, "mg"))
    assert small.ingredients[0].volume <= large.ingredients[0].volume
    assert len(small.containers) <= len(large.containers)
    vials = [containers_for(of(volume, "mL"), of(20, "mL")) for volume in (less, more)]
    assert vials == sorted(vials)


@given(st.integers(1, 5))
def test_the_unit_an_order_is_written_in_changes_nothing(grams: int) -> None:
    in_grams, in_milligrams = sheet_of(of(grams, "g")), sheet_of(of(grams * 1000, "mg"))
    assert in_grams.transfers == in_milligrams.transfers
    assert in_grams.ingredients[0].concentration == in_milligrams.ingredients[0].concentration


@given(strengths, strengths, volumes)
def test_a_dilution_keeps_the_mass(one: Decimal, other: Decimal, total: Decimal) -> None:
    weak, strong = sorted((one, other))
    taken = stock_volume(of(strong, "mg/mL"), of(weak, "mg/mL"), of(total, "mL")).amount
    assert near(number_in(taken, "mL") * strong, weak * total)
    again = diluted_strength(of(strong, "mg/mL"), taken, of(total, "mL")).amount
    assert near(number_in(again, "mg/mL"), weak)


@given(percents, percents, percents, volumes)
def test_alligation_keeps_the_mass_and_is_symmetric(
    one: Decimal, two: Decimal, three: Decimal, total: Decimal
) -> None:
    low, middle, high = sorted((one, two, three))
    assume(low < middle < high)
    ends = of(high, "%"), of(low, "%")
    strong, weak = (number_in(w.amount, "mL") for w in alligation(*ends, of(middle, "%"), of(total, "mL")))
    assert near(strong + weak, total)
    assert near(strong * high + weak * low, total * middle)
    # as far from the other end, the two change places
    mirrored = alligation(*ends, of(high + low - middle, "%"), of(total, "mL"))
    assert near(number_in(mirrored[0].amount, "mL"), weak)
    assert near(number_in(mirrored[1].amount, "mL"), strong)


BAG_METHODS = [Method.ADD_ONLY, Method.WITHDRAW_EQUAL, Method.WITHDRAW_ADDITIVE_AND_OVERFILL]


@given(
    st.decimals("0.1", "200", places=2),
    st.sampled_from([50, 100, 250, 1000]),
    st.integers(0, 60),
    st.sampled_from(BAG_METHODS),
)
def test_what_is_in_a_bag_is_what_was_and_went_in_less_what_came_out(
    added: Decimal, size: int, overfill: int, method: Method
) -> None:
    try:
        mixed = into_bag(of(added, "mL"), bag(size, overfill, capacity=10_000), method, D(10))
    except Refusal:
        return
    out = number_in(mixed.withdrawn, "mL")
    assert near(number_in(mixed.true_volume, "mL"), size + overfill - out + added)
    if method is Method.WITHDRAW_EQUAL:
        assert number_in(mixed.labelled, "mL") == size
        assert number_in(mixed.true_volume, "mL") == size + overfill
    if method is Method.WITHDRAW_ADDITIVE_AND_OVERFILL:
        assert number_in(mixed.true_volume, "mL") == number_in(mixed.labelled, "mL") == size


@given(st.decimals("0.1", "99", places=2), st.integers(0, 200))
def test_filling_to_volume_fills_just_the_rest(added: Decimal, more: int) -> None:
    mixed = to_volume(of(added, "mL"), of(added + more, "mL"), None)
    assert number_in(mixed.filled, "mL") == more
    assert mixed.true_volume == mixed.labelled == of(added + more, "mL")


@given(volumes, st.decimals("0.5", "72", places=1))
def test_a_volume_at_its_rate_runs_its_time(volume: Decimal, hours: Decimal) -> None:
    rate = pump_rate(of(volume, "mL"), of(hours, "h")).amount
    assert near(number_in(run_time(of(volume, "mL"), rate).amount, "h"), hours)


IONS = [(name, ion.name) for name, one in SUBSTANCES.items() for ion in one.ions if ion.valence]


@given(st.decimals("1", "50000", places=1), st.sampled_from(IONS))
def test_equivalents_of_a_mass_are_that_mass_again(milligrams: Decimal, salt: tuple[str, str]) -> None:
    name, ion = salt
    one = substance(name)
    equivalents = milliequivalents(of(milligrams, "mg"), one, ion).amount
    assert near(number_in(mass_of(equivalents, one, ion).amount, "mg"), milligrams)


contents_of_salts = st.tuples(st.decimals("1", "2000", places=1), st.sampled_from(sorted(SUBSTANCES)))


@given(st.lists(contents_of_salts, min_size=2, max_size=5))
def test_osmoles_of_a_mixture_are_those_of_its_parts(contents: list[tuple[Decimal, str]]) -> None:
    parts = tuple(
        Part(name, of(10, "mL"), (Solute(substance(name), of(content, "mg")),)) for content, name in contents
    )
    alone = [number_in(osmolarity_of((part,)).content, "mOsmol") for part in parts]
    for together in (parts, parts[::-1]):
        assert near(number_in(osmolarity_of(together).content, "mOsmol"), sum(alone))


@given(st.decimals("0.01", "20", places=2), st.decimals("0.05", "1", places=2))
def test_the_e_value_of_an_isotonic_volume_is_the_one_it_was_made_with(grams: Decimal, e: Decimal) -> None:
    content = of(grams, "g")
    assert near(e_from_volume(content, isotonic_volume(content, e).amount), e)


@given(st.integers(40, 200), st.integers(40, 200), st.integers(3, 150), st.integers(3, 150))
def test_a_larger_patient_has_no_smaller_surface(tall: int, taller: int, weight: int, heavier: int) -> None:
    small = surface(of(min(tall, taller), "cm"), of(min(weight, heavier), "kg")).amount
    large = surface(of(max(tall, taller), "cm"), of(max(weight, heavier), "kg")).amount
    assert small <= large


@given(st.permutations(["100", "250", "400"]))
def test_the_order_of_the_drugs_changes_no_amount(contents: list[str]) -> None:
    sheet = reckon(order(*(ingredient(ACYCLOVIR, of(one, "mg")) for one in contents), vehicle=bag(1000, 60)))
    volumes = {write(one.dose): write(one.volume) for one in sheet.ingredients}
    assert volumes == {"100 mg": "2 mL", "250 mg": "5 mL", "400 mg": "8 mL"}
    assert sheet.final_volume == of(1015, "mL")
    assert [one.substance for one in sheet.ingredients] == ["acyclovir"] * 3
