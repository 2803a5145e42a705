"""Three orders and a batch by two people at two devices; one through a wrong draw and its hold."""

from __future__ import annotations

import pytest
from bench import Device, Journey, dry_quickly

from cast import BADGES, cast, order, stock_batch

pytestmark = pytest.mark.django_db(transaction=True)

ONCE = pytest.mark.any_database
ORDERS = [
    pytest.param("vancomycin-nacl-250", "1100 mg", 0, id="powder vial", marks=ONCE),
    pytest.param("ondansetron-syringes", "4 mg", 0, id="batch of twelve"),
    pytest.param("aminophylline-d5w-100", "350 mg", 0, id="ampoule", marks=ONCE),
    pytest.param("fluorouracil-nacl-500", "800 mg", 0, id="hazardous", marks=pytest.mark.long),
    pytest.param("potassium-magnesium-nacl-1000", "20 mEq|2 g", 1, id="two additives, one wrong draw"),
]


@pytest.fixture
def at_hood(tablet, shot, axe) -> Device:
    return Device(tablet, "tablet", shot, axe)


@pytest.fixture
def at_hand(phone, shot, axe) -> Device:
    return Device(phone, "phone", shot, axe)


@pytest.mark.parametrize(("formulation", "dose", "wrong_draw"), ORDERS)
def test_an_order_goes_from_the_list_to_release(at_hood, at_hand, formulation, dose, wrong_draw) -> None:
    cast()
    dry_quickly()
    at_hood.sign_in(BADGES["technician"])
    at_hand.sign_in(BADGES["pharmacist"])
    asked = stock_batch() if formulation == "ondansetron-syringes" else order(formulation, dose)
    journey = Journey(at_hood, at_hand, asked.number, wrong_draw)
    journey.open()
    journey.run()
    assert journey.preparation.state == "released"
    resolutions = [hold.resolution for hold in journey.preparation.holds.all()]
    assert resolutions == (["draw-again"] if wrong_draw else [])
