"""While a syringe lies before a checker, no screen of anybody tells its amount. Shared design 1, line 8."""

from __future__ import annotations

import pytest
from django.urls import reverse

from cast import Cast, Hands, key, order
from checklists import run
from tests.checklists.walks import UNLIKELY, at_drug_show, beside, sign_in
from tests.views.test_blindness import LAST, blind, found
from tests.views.test_permissions import MAY, address

__all__ = ["blind"]

#: What the tablet of whoever made it keeps for going on without a network: no screen until it is its turn.
NOT_SHOWN = ("steps_ahead",)


@pytest.mark.parametrize("who", ["at work", "second technician", "pharmacist", "supervisor"])
def test_no_screen_in_sight_of_anybody_tells_the_amount_while_a_draw_is_shown(
    everybody: Cast, blind: Hands, who: str
) -> None:
    """Tablet, wall and desk: every page that anybody can have on a screen beside the checker."""
    person = blind.technician if who == "at work" else everybody[who]
    browser, answered = sign_in(person), 0
    for name, (roles, _methods) in MAY.items():
        if person.role in (roles or (person.role,)) and name not in (*LAST, *NOT_SHOWN):
            answer = browser.get(address(name, blind))
            assert found(answer) == [], name
            answered += answer.status_code == 200
    assert answered > 10


def test_what_was_made_before_of_the_same_order_does_not_tell_it_either(everybody: Cast, house: Cast) -> None:
    first = beside(house, order("vancomycin-nacl-250", UNLIKELY)).to("wipe_items")
    run.abandon(code=first.code, person=first.technician, key=key(), reason="the bag leaks")
    record = reverse("record", args=[first.code])
    phone, desk = sign_in(everybody["third pharmacist"]), sign_in(everybody["supervisor"])
    assert found(phone.get(record))
    again = Hands(first.cast, first.order, first.technician, first.checker).open().to("first_check")
    assert phone.get(record).status_code == 409
    assert found(phone.get(record)) == []
    assert found(desk.get(record)), "the desk may, until a syringe lies before a checker"
    at_drug_show(again)
    assert desk.get(record).status_code == 409
