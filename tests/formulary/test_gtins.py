"""GTIN check digits against published examples (standards.md section 8) and against biip."""

import pytest
from biip.gtin import Gtin
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from compounding.formulary.gtins import check_digit, is_gtin, refuse_bad_gtin

PUBLISHED = [
    ("890400021003", 7),  # GS1 India (page)
    ("730001100001", 7),  # GS1 Sweden (page)
    ("501234567890", 0),  # recomputed (derived)
    ("629104150021", 3),  # GS1's worked example, as printed in a package's documentation (page)
    ("0039999900101", 4),  # invented NDC 99999-001-01 (derived)
]


@pytest.mark.parametrize(("digits", "expected"), PUBLISHED)
def test_the_check_digit_is_the_published_one(digits: str, expected: int) -> None:
    assert check_digit(digits) == expected


@given(st.text("0123456789", min_size=13, max_size=13))
def test_biip_agrees_on_every_check_digit(digits: str) -> None:
    assert Gtin.parse(f"{digits}{check_digit(digits)}").check_digit == check_digit(digits)


@given(st.text("0123456789", min_size=13, max_size=13), st.integers(0, 13), st.integers(1, 9))
def test_one_wrong_digit_is_always_found(digits: str, place: int, off: int) -> None:
    gtin = f"{digits}{check_digit(digits)}"
    wrong = f"{gtin[:place]}{(int(gtin[place]) + off) % 10}{gtin[place + 1 :]}"
    assert is_gtin(gtin)
    assert not is_gtin(wrong)


@pytest.mark.parametrize("text", ["", "0039999900101", "003999990010145", "0039999900101x", "\u0660" * 14])
def test_anything_but_fourteen_digits_is_no_gtin(text: str) -> None:
    assert not is_gtin(text)


def test_a_wrong_digit_is_refused_in_words() -> None:
    with pytest.raises(ValidationError, match="14 digits under the barcode"):
        refuse_bad_gtin("00399999001015")
