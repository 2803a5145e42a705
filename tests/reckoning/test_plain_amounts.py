"""The second arithmetic's own units, against the first's, and its own way of writing.

Outside sources: the international inch of 2.54 cm and decimal prefixes (common practice, no source).
"""

from fractions import Fraction

import pytest

from compounding.reckoning.plain_amounts import in_ml, measured, plain_number, told
from compounding.reckoning.quantities import number_in, of
from compounding.reckoning.refusals import NotProved


@pytest.mark.parametrize(
    ("unit", "kind", "size"),
    [
        ("ng", "mass", "0.000001"),
        ("mcg", "mass", "0.001"),
        ("mg", "mass", "1"),
        ("g", "mass", "1000"),
        ("mL", "volume", "1"),
        ("dL", "volume", "100"),
        ("L", "volume", "1000"),
        ("units", "activity", "1"),
        ("mEq", "equivalent", "1"),
        ("mmol", "amount", "1"),
        ("mol", "amount", "1000"),
        ("mOsmol", "osmole", "1"),
        ("kcal", "energy", "1"),
        ("kg", "body weight", "1"),
        ("m2", "body surface", "1"),
        ("cm", "height", "1"),
        ("m", "height", "100"),
        ("in", "height", "2.54"),
    ],
)
def test_each_unit_is_so_many_of_its_base(unit: str, kind: str, size: str) -> None:
    assert measured(f"2 {unit}") == (2 * Fraction(size), (kind,))


@pytest.mark.parametrize(
    ("amount", "unit"),
    [("3", "mg/dL"), ("7", "g/L"), ("0.5", "mcg/mL"), ("40", "mEq/L"), ("900", "mOsmol/L")],
)
def test_both_arithmetics_read_a_strength_alike(amount: str, unit: str) -> None:
    number, (top, bottom) = measured(f"{amount} {unit}")
    base = {"mass": "mg", "equivalent": "mEq", "osmole": "mOsmol"}[top]
    assert bottom == "volume"
    assert number == Fraction(number_in(of(amount, unit), f"{base}/mL"))


@pytest.mark.parametrize("text", ["5", "5 mgs", "x mg", "5 mg/mgs", "", " mL", "x %", "1 000 mL", "5 5 %"])
def test_what_cannot_be_read_is_told_and_nothing_else(text: str) -> None:
    with pytest.raises(NotProved) as refused:
        measured(text)
    assert refused.value.facts == {
        "what": "an amount", "found": f"“{text}”", "expected": "an amount that can be read",
    }  # fmt: skip


def test_a_volume_is_a_volume_and_nothing_else() -> None:
    assert in_ml("0.25 L") == 250
    for text in ("5 mg", "5 mg/mL", "5 %"):
        with pytest.raises(NotProved) as refused:
            in_ml(text)
        assert refused.value.facts == {"what": "a volume", "found": text, "expected": "mL"}


def test_it_writes_as_the_trade_does() -> None:
    assert told(Fraction(1250), "mass") == "1,250 mg"
    assert told(Fraction(1, 3), "volume") == "0.3333 mL"
    assert told(Fraction(2), "equivalent") == "2 mEq"
    assert [told(Fraction(1), kind) for kind in ("activity", "amount", "osmole", "energy")] == [
        "1 units", "1 mmol", "1 mOsmol", "1 kcal",
    ]  # fmt: skip


def test_halves_go_up_and_nothing_has_no_sign() -> None:
    # 0.00005 is half of the fourth decimal
    assert plain_number(Fraction(5, 100_000)) == "0.0001"
    assert plain_number(Fraction(49, 1_000_000)) == "0"
    assert plain_number(Fraction(-5, 100_000)) == "-0.0001"
    assert plain_number(Fraction(-1, 1_000_000_000)) == "0"
    assert plain_number(Fraction(0)) == "0"
    assert plain_number(Fraction(-1250)) == "-1,250"
    assert plain_number(Fraction(105, 100), 1) == "1.1"
