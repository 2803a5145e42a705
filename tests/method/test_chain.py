"""An entry's canonical text and its digest: one text for the same facts, another for any other."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists.method.chain import GENESIS, canonical, digest

FACTS = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)
TEXTS = st.text(st.characters(exclude_categories=("Cs",)))


def test_the_text_is_the_same_in_whatever_order_the_facts_came() -> None:
    first = canonical({"b": 1, "a": {"d": [1, "x"], "c": None}})
    assert first == canonical({"a": {"c": None, "d": [1, "x"]}, "b": 1})
    assert first == '{"a":{"c":null,"d":[1,"x"]},"b":1}'


@given(st.dictionaries(st.text(), FACTS, max_size=5))
def test_the_text_read_again_is_the_facts(facts: dict[str, object]) -> None:
    assert json.loads(canonical(facts)) == facts


@pytest.mark.parametrize("number", [1.5, Decimal("1.5"), float("nan"), 0.0, {1}, b"x", object()])
def test_a_number_with_a_fraction_must_come_as_text(number: object) -> None:
    for facts in ({"volume": number}, {"all": [number]}, {"in": {"it": (number,)}}):
        with pytest.raises(TypeError, match="has no canonical text; write it as text"):
            canonical(facts)


def test_the_digest_is_sha_256_of_the_one_before_and_the_text() -> None:
    """FIPS 180-4 by hashlib (page); the text by hand."""
    reckoned = hashlib.sha256(("0" * 64 + "\n" + '{"act":"open"}').encode()).hexdigest()
    assert digest(GENESIS, '{"act":"open"}') == reckoned
    assert len(GENESIS) == 64


@given(TEXTS, st.integers(0, 200), TEXTS.filter(lambda text: len(text) == 1))
def test_any_character_changed_gives_another_digest(text: str, index: int, other: str) -> None:
    if not text or text[index % len(text)] == other:
        return
    place = index % len(text)
    changed = text[:place] + other + text[place + 1 :]
    assert digest(GENESIS, changed) != digest(GENESIS, text)


@given(TEXTS, TEXTS)
def test_another_entry_before_gives_another_digest(first: str, second: str) -> None:
    if first != second:
        assert digest(digest(GENESIS, first), "x") != digest(digest(GENESIS, second), "x")
