"""A pharmacist has an equivalent product taken: reckoned anew, frozen anew, the first check asked again."""

from __future__ import annotations

import pytest
from django.urls import reverse

from cast import Cast, Hands, key, order
from checklists import run
from checklists.refusals import NotAResolution, OnHold, WrongRole
from compounding.formulary.models import Product
from compounding.formulary.refusals import NotEquivalent
from compounding.reckoning.quantities import write
from tests.checklists.walks import beside, everything, sign_in, words

LARGE, SMALL = "potassium chloride 40 mEq", "potassium chloride 20 mEq"


def gtin(name: str) -> str:
    return Product.objects.get(name__startswith=name).gtin


def choose(everybody: Cast, work: Hands, name: str = SMALL) -> None:
    run.choose_product(
        order=work.order,
        gtin=gtin(name),
        reason="none of 40 mEq left",
        person=everybody["pharmacist"],
        key=key(),
    )


@pytest.fixture
def begun(everybody: Cast, house: Cast) -> Hands:
    return beside(house, order("potassium-nacl-1000", "40 mEq")).to("wipe_items")


def test_work_stops_and_the_order_is_reckoned_and_checked_anew(everybody: Cast, begun: Hands) -> None:
    old = begun.worksheet
    assert {one.product for one in old.ingredients} == {gtin(LARGE)}
    choose(everybody, begun)
    with pytest.raises(OnHold):
        begun.finish(begun.step, reason="early")
    with pytest.raises(NotAResolution):
        begun.resolve("carry-on")
    begun.resolve("discard")
    first = begun.code
    begun.open()
    assert begun.code != first
    new = begun.worksheet
    assert {one.product for one in new.ingredients} == {gtin(SMALL)}
    assert len([one for one in new.containers if one.role == "drug"]) == 2
    assert write(new.ingredients[0].dose) == write(old.ingredients[0].dose)
    begun.to_release()
    assert begun.done.count("first_check") == 2
    assert begun.preparation.state == "released"
    kept = begun.order.preparations.get(code=first)
    assert kept.worksheet["ingredients"][0]["product"] == gtin(LARGE)


def test_only_a_pharmacist_and_only_what_serves_the_order(everybody: Cast, begun: Hands) -> None:
    before = everything()
    for who in ("technician", "supervisor"):
        with pytest.raises(WrongRole):
            run.choose_product(
                order=begun.order, gtin=gtin(SMALL), reason="so", person=everybody[who], key=key()
            )
    with pytest.raises(NotEquivalent):
        choose(everybody, begun, "ketorolac 30 mg")
    assert everything() == before


def test_one_key_chooses_once(everybody: Cast, begun: Hands) -> None:
    told = {"key": "once", "product": gtin(SMALL), "reason": "none of 40 mEq left"}
    browser = sign_in(everybody["pharmacist"])
    where = reverse("choose_product", args=[begun.order.number])
    for _ in range(2):
        answer = browser.post(where, told)
        assert answer.status_code == 302, words(answer)
    assert begun.order.choices.count() == 1
    assert begun.preparation.holds.count() == 1
    page = browser.get(reverse("order", args=[begun.order.number]))
    assert "none of 40 mEq left (Ilse Varga)" in words(page)
    assert browser.post(where, {**told, "key": "x", "product": "", "reason": ""}).status_code == 409
