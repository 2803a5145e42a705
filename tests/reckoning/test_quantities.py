"""Amounts keep their kind and are written as ISMP asks (error-prone list, standards.md section 7)."""

import threading
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import DimensionalityError

from compounding.reckoning.quantities import (
    Kind,
    convert,
    kind_of,
    number_in,
    of,
    read,
    restore,
    round_half_up,
    store,
    write,
)
from compounding.reckoning.refusals import NotConvertible
from compounding.reckoning.units import CODES, EXAMPLES

PLAIN_NUMBERS = st.decimals("0.000001", "999999999", allow_nan=False, places=6)


@pytest.mark.parametrize(
    ("amount", "written"),
    [
        (of(1250, "mg"), "1,250 mg"),
        (of("0.5", "mL"), "0.5 mL"),
        (of("2.50", "mL"), "2.5 mL"),
        (of(100, "mL"), "100 mL"),
        (of(100000, "units"), "100,000 units"),
        (of(1, "units"), "1 unit"),
        (of(5, "mcg/kg/min"), "5 mcg/kg/min"),
        (of("0.9", "%"), "0.9 %"),
        (of(14, "day"), "14 days"),
        (of(1, "day"), "1 day"),
        (of(100, "mL/day"), "100 mL/day"),
        (of(Decimal("1E+3"), "mg"), "1,000 mg"),
    ],
)
def test_writes_as_ismp_asks(amount: Any, written: str) -> None:
    assert write(amount) == written


@pytest.mark.parametrize(
    ("number", "places", "written"),
    [
        # published answers round half up (worked_examples.md, trap 1)
        ("0.125", 2, "0.13 mL"),
        ("8.75", 1, "8.8 mL"),
        ("12.5", 0, "13 mL"),
        ("0.65", 1, "0.7 mL"),
        ("2.999", 2, "3 mL"),
        ("6.0606060606", 2, "6.06 mL"),
        # what is not zero is never written as nothing
        ("0.004", 2, "0.004 mL"),
    ],
)
def test_rounds_half_up_at_the_end(number: str, places: int, written: str) -> None:
    assert write(of(number, "mL"), places) == written


def test_rounds_to_any_step() -> None:
    assert round_half_up(Decimal("21.7"), Decimal("0.5")) == Decimal("21.5")
    assert round_half_up(Decimal("21.75"), Decimal("0.5")) == Decimal("22.0")
    assert round_half_up(Decimal("0.25"), Decimal("0.1")) == Decimal("0.3")


@pytest.mark.parametrize(
    ("amount", "unit"),
    [
        (of(20, "mEq"), "mmol"),
        (of(20, "mEq"), "mg"),
        (of(300, "mOsmol"), "mmol"),
        (of(5000, "units"), "mg"),
        (of(70, "kg"), "g"),
        (of(5, "mg/kg"), "mg/g"),
        (of(5, "mg/kg"), "mg"),
        (of(1, "m2"), "cm"),
        (of(5, "mg/mL"), "mEq/mL"),
        (of(5, "mL"), "mg"),
    ],
)
def test_a_forbidden_conversion_names_both_sides(amount: Any, unit: str) -> None:
    if unit not in CODES:
        with pytest.raises(KeyError):
            number_in(amount, unit)
        return
    with pytest.raises(NotConvertible) as refused:
        number_in(amount, unit)
    assert write(amount) in refused.value.sentence
    assert unit in refused.value.sentence


def test_body_weight_is_no_mass() -> None:
    dose, weight = of(5, "mg/kg"), of("3.2", "kg")
    assert (dose * weight / of(50, "mg/mL")).m_as(of(1, "mL").units) == Decimal("0.32")
    with pytest.raises(DimensionalityError):
        dose + of(5, "mg")
    assert kind_of(dose) is Kind.DOSE_BY_WEIGHT


@pytest.mark.parametrize(
    ("amount", "unit", "number"),
    [
        (of(1, "g"), "mg", 1000),
        (of(250, "mcg"), "mg", "0.25"),
        (of("0.9", "%"), "mg/mL", 9),
        (of(1, "L"), "mL", 1000),
        (of(40, "mEq/L"), "mEq/mL", "0.04"),
        (of(5, "mcg/kg/min"), "mg/kg/h", "0.3"),
        (of(66, "in"), "cm", "167.64"),
    ],
)
def test_conversions_are_exact(amount: Any, unit: str, number: int | str) -> None:
    assert number_in(amount, unit) == Decimal(number)
    assert convert(amount, unit) == of(number, unit)


@pytest.mark.parametrize("number", [0.5, True, None, 1j])
def test_no_float_ever(number: Any) -> None:
    with pytest.raises(TypeError):
        of(number, "mg")


@pytest.mark.parametrize("number", ["nan", "1e3", "1,5", "", "٣", Decimal("NaN"), Decimal("Infinity")])
def test_code_writes_plain_numbers_too(number: Any) -> None:
    with pytest.raises(ValueError, match=r"number|finite"):
        of(number, "mg")


def test_a_float_in_a_sum_is_a_type_error() -> None:
    with pytest.raises(TypeError):
        of(5, "mg") * 0.5


def test_every_kind_has_an_example_that_is_of_that_kind() -> None:
    assert set(EXAMPLES) == set(Kind)
    for kind, example in EXAMPLES.items():
        assert read(example, kind).magnitude > 0


def test_every_unit_is_written_so_that_it_reads_back() -> None:
    for code in CODES:
        amount = of(7, code)
        assert read(write(amount)) == amount
        assert restore(store(amount)) == amount


@given(PLAIN_NUMBERS, st.sampled_from(sorted(CODES)))
def test_reading_what_was_written_gives_the_amount_back(number: Decimal, code: str) -> None:
    amount = of(number, code)
    assert read(write(amount), grouping=True) == amount


@given(
    st.decimals(allow_nan=False, allow_infinity=False, places=28, min_value=-9, max_value=9),
    st.sampled_from(sorted(CODES)),
)
def test_storing_loses_nothing(number: Decimal, code: str) -> None:
    amount = of(number, code)
    again = restore(store(amount))
    assert again == amount
    assert again.magnitude == number


def test_eight_threads_share_the_registry() -> None:
    wrong: list[Decimal] = []

    def work() -> None:
        for number in range(1, 200):
            found = number_in(of(number, "g"), "mg")
            if found != number * 1000:
                wrong.append(found)

    threads = [threading.Thread(target=work) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
