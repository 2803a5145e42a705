"""A number and its unit stay together wherever a page writes them (ISMP, common practice; memory)."""

import re
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists.templatetags.amounts import unbroken


def _as_read(html: str) -> str:
    return unescape(re.sub(r"</?span[^>]*>", "", html)).replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("vancomycin 1,100 mg", ["1,100 mg"]),
        ("in sodium chloride 0.9 % 250 mL", ["0.9 %", "250 mL"]),
        ("heparin 25,000 units in 4.5 mL at 2 mEq/mL", ["25,000 units", "4.5 mL", "2 mEq/mL"]),
        ("Ward 6, vial 1 vancomycin 1 g powder vial", ["1 g"]),
        ("12 syringes", []),
    ],
)
def test_each_amount_is_kept_on_one_line(text: str, kept: list[str]) -> None:
    assert re.findall(r'<span class="nobreak">([^<]*)</span>', unbroken(text)) == kept
    assert _as_read(unbroken(text)) == text


def test_identifiers_are_pieces_of_their_own() -> None:
    assert unbroken("Iris Calloway · CD-204117") == (
        '<span class="piece">Iris Calloway\u00a0·</span> <span class="piece">CD-204117</span>'
    )


@given(st.text(max_size=60))
def test_nothing_typed_is_markup_and_nothing_is_lost(text: str) -> None:
    html = unbroken(text)
    assert _as_read(html) == text.replace("\u00a0", " ")
    assert not re.search(r"<(?!/?span)", html)
