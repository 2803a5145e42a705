"""The worksheet is plain data: to JSON and back without loss, and never without a proof."""

import json
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from prepared_orders import CEFAZOLIN, VANCOMYCIN, bag, ingredient, order, vancomycin

from compounding.reckoning.quantities import Quantity, of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import WithoutProof
from compounding.reckoning.worksheet import from_plain, to_plain


def leaves(plain: Any) -> list[type]:
    if isinstance(plain, dict):
        return [kind for value in plain.values() for kind in leaves(value)]
    if isinstance(plain, list):
        return [kind for value in plain for kind in leaves(value)]
    return [type(plain)]


def test_to_json_and_back_is_the_same_worksheet() -> None:
    sheet = reckon(order(ingredient(CEFAZOLIN, of(2, "g")), vehicle=bag(100, 8)))
    plain = to_plain(sheet)
    assert set(leaves(plain)) <= {str, int, bool, type(None)}
    again = from_plain(json.loads(json.dumps(plain)))
    assert again == sheet
    assert to_plain(again) == plain
    assert plain["transfers"][-1]["draws"][0]["target"] == "6 mL"
    assert isinstance(again.draws[0].target, Quantity)
    assert isinstance(again.draws[0].error.worst, Decimal)


def test_what_a_worksheet_does_not_know_is_not_dropped_in_silence() -> None:
    plain = to_plain(reckon(vancomycin()))
    with pytest.raises(Exception, match="Worksheet"):
        from_plain({**plain, "extra": 1})


def test_no_worksheet_without_a_proof() -> None:
    sheet = reckon(vancomycin())
    with pytest.raises(WithoutProof, match="Reckon it again"):
        replace(sheet, proof=())
    with pytest.raises(Exception, match="Worksheet"):
        from_plain({**to_plain(sheet), "proof": []})


def test_a_draw_and_its_transfer_are_found_by_number() -> None:
    sheet = reckon(vancomycin())
    assert [draw.number for draw in sheet.draws] == [1, 2, 3]
    assert sheet.draw(3).destination == "bag"
    assert sheet.transfer_of(3).purpose == "drug"
    assert sheet.container("vial 2").name == "vancomycin 1 g"


@given(st.decimals("100", "5000", places=3))
def test_every_worksheet_survives_json(dose: Decimal) -> None:
    sheet = reckon(order(ingredient(VANCOMYCIN, of(dose, "mg")), vehicle=bag(1000)))
    assert from_plain(json.loads(json.dumps(to_plain(sheet)))) == sheet
