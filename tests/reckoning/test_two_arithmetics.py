"""The two arithmetics against each other: pint's own conversions, and the proof's plain fractions.

Source: pint, an independent library, reading units.txt; plain_amounts.py states the same units a second time.
"""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from prepared_orders import (
    ACYCLOVIR,
    AMINOPHYLLINE,
    CEFAZOLIN,
    FLUOROURACIL,
    HEPARIN,
    MAGNESIUM,
    ONDANSETRON,
    POTASSIUM,
    VANCOMYCIN,
    bag,
    ingredient,
    order,
)

from compounding.reckoning.plain_amounts import in_ml, measured
from compounding.reckoning.quantities import Quantity, of, store
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import NotProved
from compounding.reckoning.units import CODES, registry
from compounding.reckoning.worksheet import Purpose, Worksheet

# what the proof calls each kind -> the unit of pint it counts in
BASES = {
    "mass": "mg", "volume": "mL", "activity": "unit", "equivalent": "mEq", "amount": "mmol",
    "osmole": "mOsmol", "energy": "kcal", "body weight": "kg_body", "body surface": "m2_body", "height": "cm",
}  # fmt: skip
# No worksheet's proof meets these: rates, drops and times are worked out, never poured.
APART = {"h", "hour", "hours", "min", "minute", "minutes", "s", "second", "seconds", "day", "days",
         "gtt", "drops", "drop"}  # fmt: skip
# What people may type for a unit that is stored under its first name.
TYPED = {"unit", "mOsm"}
STORED = sorted(code for code in CODES if not set(code.split("/")) & (APART | TYPED))


def by_pint(amount: Quantity, kinds: tuple[str, ...]) -> Fraction:
    """The amount in the bases of those kinds, converted by pint."""
    unit = registry.Unit(BASES[kinds[0]])
    for kind in kinds[1:]:
        unit = unit / registry.Unit(BASES[kind])
    return Fraction(amount.to(unit).magnitude)


def agrees(amount: Quantity) -> None:
    number, kinds = measured(store(amount))
    found = by_pint(amount, kinds)
    # a Decimal division may have no end: 28 digits
    assert abs(found - number) <= abs(number) / 10**25, store(amount)


@pytest.mark.parametrize("code", STORED)
def test_every_unit_is_the_same_in_both(code: str) -> None:
    for number in ("1", "7", "0.003", "123456.789"):
        agrees(of(Decimal(number), code))


def test_every_unit_of_the_definition_file_is_tried_or_named_apart() -> None:
    named = {name for code in (*STORED, *APART, *TYPED) for name in code.split("/")}
    assert {part for code in CODES for part in code.split("/")} == named
    for code in sorted(APART):
        with pytest.raises(NotProved):
            measured(f"1 {code}")


@given(st.decimals("0.000001", "1000000", places=6), st.sampled_from(STORED))
def test_any_number_of_any_unit_is_the_same_in_both(number: Decimal, code: str) -> None:
    agrees(of(number, code))


def amounts(part: object) -> Iterator[Quantity]:
    if isinstance(part, Quantity):
        yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from amounts(one)
    elif is_dataclass(part):
        for field in fields(part):
            yield from amounts(getattr(part, field.name))


PRODUCTS = (
    (VANCOMYCIN, "mg", 300, 5000), (CEFAZOLIN, "mg", 300, 5000), (ACYCLOVIR, "mg", 50, 2000),
    (AMINOPHYLLINE, "mg", 50, 1000), (POTASSIUM, "mEq", 5, 80), (MAGNESIUM, "mg", 500, 9000),
    (HEPARIN, "units", 3000, 90000), (ONDANSETRON, "mg", 2, 32), (FLUOROURACIL, "mg", 100, 2500),
)  # fmt: skip


@st.composite
def worksheets(draw: st.DrawFn) -> Worksheet:
    chosen = draw(
        st.lists(st.sampled_from(PRODUCTS), min_size=1, max_size=3, unique_by=lambda one: one[0].name)
    )
    parts = [
        ingredient(product, of(draw(st.decimals(least, most, places=1)), unit))
        for product, unit, least, most in chosen
    ]
    return reckon(order(*parts, vehicle=bag(draw(st.sampled_from([500, 1000])), draw(st.integers(0, 60)))))


@given(worksheets())
def test_every_amount_of_a_worksheet_is_the_same_in_both(sheet: Worksheet) -> None:
    found = list(amounts(sheet))
    assert len(found) > 15
    for amount in found:
        if not set(store(amount).partition(" ")[2].split("/")) & APART:
            agrees(amount)


@given(worksheets())
def test_what_a_worksheet_pours_is_the_same_in_both(sheet: Worksheet) -> None:
    for number, one in enumerate(sheet.ingredients, 1):
        draws = [
            draw
            for t in sheet.transfers
            if t.purpose is Purpose.DRUG and t.ingredient == number
            for draw in t.draws
        ]
        poured = sum((draw.target for draw in draws), of(0, "mL")) * one.strength
        strength, kinds = measured(store(one.strength))
        plain = sum((in_ml(store(draw.target)) for draw in draws), Fraction(0)) * strength
        unit = registry.Unit(BASES[kinds[0]])
        assert abs(Fraction(poured.to(unit).magnitude) - plain) <= plain / 10**25
