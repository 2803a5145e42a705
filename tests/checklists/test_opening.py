"""One preparation at a time, one in a hood, one of an order: told in words, and held by the database.

Source: nothing else is opened until it is handed over, paused or given up, shared design 1.
"""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from cast import Cast, Hands, hands, key, order
from checklists import run
from checklists.models import Preparation
from checklists.refusals import AlreadyAtWork, AlreadyBeingMade, HoodInUse, OrderNotActive, WrongRole
from compounding.formulary import codes
from compounding.formulary.models import Order
from tests.checklists.walks import everything


@pytest.fixture
def work(everybody: Cast) -> Hands:
    return hands(everybody, order("ondansetron-nacl-50", "8 mg"))


def open_as(cast: Cast, who: str, number: str, once: str | None = None) -> Preparation:
    return run.open_preparation(number=number, person=cast[who], key=once or key())


def test_a_technician_who_opens_a_second_is_told_which_one_is_open(work: Hands) -> None:
    second = order("ketorolac-syringe", "30 mg")
    before = everything()
    with pytest.raises(AlreadyAtWork) as refused:
        open_as(work.cast, "technician", second.number)
    assert refused.value.sentence == (
        f"You have ondansetron in sodium chloride 0.9 % 50 mL open ({codes.grouped(work.code)}). "
        "Hand it over, pause it or give it up first."
    )
    assert everything() == before


def test_another_technician_may_open_another_order_at_the_same_time(work: Hands) -> None:
    second = order("ketorolac-syringe", "30 mg")
    assert open_as(work.cast, "second technician", second.number).state == "in-work"


def test_an_order_that_somebody_makes_is_not_opened_again(work: Hands) -> None:
    before = everything()
    with pytest.raises(AlreadyBeingMade) as refused:
        open_as(work.cast, "second technician", work.order.number)
    assert refused.value.sentence == (
        f"This order is being made as {codes.grouped(work.code)} by Mara Okonjo. "
        "Take the next order on the list."
    )
    assert everything() == before


@pytest.mark.parametrize(
    "free", ["hand it over", "pause it", "give it up"], ids=["handed over", "paused", "given up"]
)
def test_a_technician_is_free_after_the_first_is_out_of_their_hands(work: Hands, free: str) -> None:
    second = order("ketorolac-syringe", "30 mg")
    if free == "hand it over":
        work.to("final_check")
    else:
        act = run.pause if free == "pause it" else run.abandon
        act(code=work.code, person=work.technician, key=key(), reason="a break")
    assert open_as(work.cast, "technician", second.number).state == "in-work"


def test_a_given_up_order_goes_back_and_is_made_anew(work: Hands) -> None:
    run.abandon(code=work.code, person=work.technician, key=key(), reason="a torn wrap")
    again = open_as(work.cast, "second technician", work.order.number)
    assert (again.state, work.preparation.state) == ("in-work", "discarded")


@pytest.mark.parametrize("who", ["pharmacist", "supervisor"])
def test_only_a_technician_opens(everybody: Cast, who: str) -> None:
    asked = order("ketorolac-syringe", "30 mg")
    before = everything()
    with pytest.raises(WrongRole, match="This is done by a technician; you are signed in as"):
        open_as(everybody, who, asked.number)
    assert everything() == before


@pytest.mark.parametrize("state", ["cancelled", "superseded"])
def test_an_order_that_asks_for_nothing_is_not_opened(everybody: Cast, state: str) -> None:
    asked = order("ketorolac-syringe", "30 mg")
    if state == "cancelled":
        run.cancel_order(order=asked, reason="stopped", person=everybody["pharmacist"], key=key())
    else:
        changes = {"reason": "other ward", "ward": "Ward 9"}
        run.change_order(order=asked, person=everybody["pharmacist"], key=key(), **changes)
    before = everything()
    with pytest.raises(OrderNotActive) as refused:
        open_as(everybody, "technician", asked.number)
    assert refused.value.sentence == (
        f"Order {asked.number} is {state}; nothing is made from it. Take the next order on the list."
    )
    assert everything() == before


def test_an_order_nobody_knows_is_not_opened(everybody: Cast) -> None:
    with pytest.raises(OrderNotActive, match="is not known; nothing is made from it"):
        open_as(everybody, "technician", "R00000000")


def test_opening_twice_with_one_key_opens_once(everybody: Cast) -> None:
    asked, once = order("ketorolac-syringe", "30 mg"), key()
    first = open_as(everybody, "technician", asked.number, once)
    before = everything()
    assert open_as(everybody, "technician", asked.number, once).code == first.code
    assert everything() == before


def test_a_hood_in_use_is_refused_and_told_by_whom(work: Hands) -> None:
    work.to("wipe_surface")
    other = Hands(
        work.cast,
        order("ketorolac-syringe", "30 mg"),
        work.cast["second technician"],
        work.cast["second pharmacist"],
    )
    other.open().to("identify_hood")
    before = everything()
    with pytest.raises(HoodInUse) as refused:
        other.finish(other.step, scan=work.cast.hood.code)
    assert refused.value.sentence == (
        f"Hood 1 holds {codes.grouped(work.code)} of Mara Okonjo. "
        "Use another hood, or wait until it is cleaned up."
    )
    assert everything() == before
    other.finish(other.step, scan=work.cast.vertical.code)
    assert other.preparation.hood == work.cast.vertical


def test_the_hood_is_free_after_the_clean_up(work: Hands) -> None:
    work.to("final_check")
    assert work.preparation.hood is None
    assert work.preparation.made_in == work.cast.hood


def another(work: Hands, **changes: object) -> None:
    """Put a second row down past every act: the database alone is to refuse it."""
    row = work.preparation
    row.pk, row.code = None, codes.make("P", 4)
    for name, value in changes.items():
        setattr(row, name, value)
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_the_database_keeps_one_open_preparation_a_technician(work: Hands) -> None:
    another(work, order=order("ketorolac-syringe", "30 mg"))


def test_the_database_keeps_one_preparation_an_order(work: Hands) -> None:
    another(work, technician=work.cast["second technician"])


def test_the_database_keeps_one_preparation_a_hood(work: Hands) -> None:
    work.to("wipe_surface")
    other = order("ketorolac-syringe", "30 mg")
    another(work, order=other, technician=work.cast["second technician"])


def test_the_worksheet_is_frozen_when_it_is_opened(work: Hands) -> None:
    frozen = work.preparation.worksheet
    Order.objects.get(pk=work.order.pk).doses.update(dose="16 mg")
    assert work.to_release().preparation.worksheet == frozen
