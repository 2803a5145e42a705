"""Reading what people type. Outside source: ISMP list of error-prone abbreviations (standards.md section
7).
"""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compounding.reckoning.quantities import Kind, of, read, read_number
from compounding.reckoning.reading import read_amount
from compounding.reckoning.refusals import Refusal, Unreadable, WrongKind
from compounding.reckoning.units import CODES


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("500 mg", 500, "mg"),
        ("2500 units", 2500, "units"),
        ("1 unit", 1, "units"),
        ("0.9 %", "0.9", "%"),
        ("1 mg/mL", 1, "mg/mL"),
        ("1 g/10 mL", "0.1", "g/mL"),
        ("25000 units/250 mL", 100, "units/mL"),
        ("40 mEq", 40, "mEq"),
        ("5 mcg/kg/min", 5, "mcg/kg/min"),
        ("0.5mL", "0.5", "mL"),
        (" 70 kg ", 70, "kg"),
        ("900 mOsm/L", 900, "mOsmol/L"),
        ("14 days", 14, "day"),
    ],
)
def test_reads_what_the_trade_writes(text: str, number: int | str, unit: str) -> None:
    assert read(text) == of(number, unit)


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [
        # ISMP: naked point, trailing zero, U, IU, cc, micro sign
        (".5 mg", "naked-point", "Write 0.5."),
        ("5. mg", "naked-point", "Write 5."),
        ("1.0 mg", "trailing-zero", "Write 1."),
        ("2.50 mL", "trailing-zero", "Write 2.5."),
        ("5 U", "unsafe-unit", "Write units."),
        ("5 IU", "unsafe-unit", "Write units."),
        ("3 cc", "unsafe-unit", "Write mL."),
        ("5 µg", "strange-character", "mcg"),
        ("5 μg", "strange-character", "mcg"),
        ("5 ug", "unsafe-unit", "Write mcg."),
        ("154 lb", "unsafe-unit", "kilograms"),
        # a comma is two things in two countries
        ("1,5 mL", "comma-in-number", "1500 or 1.5"),
        ("1,500 mg", "comma-in-number", "1500 or 1.5"),
        # a megagram is no milligram
        ("5 MG", "unknown-unit", "Write mg."),
        ("5 Mg", "unknown-unit", "Write mg."),
        ("5 ml", "unknown-unit", "Write mL."),
        ("1:1000", "ratio-strength", "mg/mL"),
        ("-3 mL", "not-positive", "above zero"),
        ("+3 mL", "not-positive", "above zero"),
        ("0 mL", "not-positive", "above zero"),
        ("0.0 mL", "not-positive", "above zero"),
        ("-", "not-positive", "above zero"),
        ("1e3 mL", "not-an-amount", "500 mg"),
        ("nan mL", "not-an-amount", "500 mg"),
        ("1.5.2 mL", "not-an-amount", "500"),
        # what a lenient parser made of these: 0, 0.3 and a luminance (stack.md section 2)
        ("1 000 mL", "not-an-amount", "500 mg"),
        ("1/3 mL", "not-an-amount", "500 mg"),
        ("2**2**10 mL", "not-an-amount", "500"),
        ("5 mmin", "unknown-unit", "mg"),
        ("5 kilounit", "unknown-unit", "mg"),
        ("5 mg/kg/fortnight", "unknown-unit", "mg"),
        ("5 mL/mL", "unknown-unit", "mg/mL"),
        ("5 mg/", "not-an-amount", "500 mg"),
        ("5 mg//mL", "not-an-amount", "500 mg"),
        ("5", "not-an-amount", "unit"),
        ("", "not-an-amount", "500 mg"),
        ("   ", "not-an-amount", "500 mg"),
        ("mg", "not-an-amount", "500 mg"),
        ("007 mg", "not-an-amount", "7"),
        ("1234567890 mg", "not-an-amount", "9 digits"),
        ("0.1234567 mg", "not-an-amount", "6 after"),
        # other digits, folded forms, hidden characters
        ("٣ mL", "strange-character", "digits 0 to 9"),
        ("\uff15 mg", "strange-character", "digits 0 to 9"),
        ("²5 mg", "strange-character", "500 mg"),
        ("½ mL", "strange-character", "500 mg"),
        ("5 ㎎", "strange-character", "500 mg"),
        ("5\u00a0mg", "strange-character", "ordinary space"),
        ("5\u200bmg", "strange-character", "500 mg"),
        ("5\tmg", "strange-character", "500 mg"),
        ("5 mg\n", "strange-character", "500 mg"),
        ("−5 mg", "strange-character", "500 mg"),
        ("9" * 10_000 + " mg", "too-long", "40 characters"),
    ],
)  # fmt: skip
def test_refuses_with_a_sentence_that_says_what_to_write(text: str, code: str, says: str) -> None:
    with pytest.raises(Unreadable) as refused:
        read(text)
    assert refused.value.code == code
    assert says in refused.value.sentence
    assert len(refused.value.sentence) < 250


def test_files_may_group_thousands_and_people_may_not() -> None:
    assert read("2,500 units", grouping=True) == of(2500, "units")
    assert read("1,234,567.5 mg", grouping=True) == of("1234567.5", "mg")
    for text in ("2,50 units", "25,00 units", "1,5 mL", ",500 mg", "0,500 mg"):
        with pytest.raises(Unreadable):
            read(text, grouping=True)


def test_a_kind_asked_for_is_a_kind_insisted_on() -> None:
    assert read("5 mg/kg", Kind.DOSE) == of(5, "mg/kg")
    with pytest.raises(WrongKind) as refused:
        read("20 mL", Kind.MASS)
    assert refused.value.sentence == "20 mL is a volume; a mass is needed here, such as 500 mg."
    with pytest.raises(WrongKind):
        read("950 g", Kind.BODY_WEIGHT)


def test_a_keypad_is_as_strict() -> None:
    assert read_number("2.5", "mL") == of("2.5", "mL")
    for text in ("2.50", ".5", "2,5", "0", "-1", "2.5 mL", "", "1e1", "\uff12", "2" * 400):
        with pytest.raises(Unreadable):
            read_number(text, "mL")


def read_or_refuse(text: str) -> tuple[Decimal, str] | Refusal:
    try:
        return read_amount(text)
    except Refusal as refused:
        return refused


@settings(max_examples=2000)
@given(st.text(max_size=60) | st.from_regex(r"[0-9.,eE+\-µ٣ ]{0,12}[ a-zA-Z/%0-9]{0,12}"))
def test_any_text_is_an_amount_or_a_refusal_in_words(text: str) -> None:
    found = read_or_refuse(text)
    if isinstance(found, Refusal):
        assert found.sentence[-1] in ".)”"
        assert found.code != "refusal"
    else:
        number, code = found
        assert number > 0
        assert number.is_finite()
        assert code in CODES


@settings(max_examples=2000)
@given(st.text(alphabet="0123456789.,-+eE µmgLkU/%:٣５ \u00a0", max_size=14))
def test_texts_made_of_likely_pieces_never_do_anything_else(text: str) -> None:
    found = read_or_refuse(text)
    assert found.code != "refusal" if isinstance(found, Refusal) else found[0] > 0
