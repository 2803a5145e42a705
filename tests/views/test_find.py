"""Where a scanned code leads each role."""

from __future__ import annotations

import pytest
from django.urls import reverse

from cast import Cast, Hands, key
from checklists import run
from checklists.models import Label
from tests.checklists.walks import sign_in, words


def leads(who: object, code: str) -> str:
    answer = sign_in(who).post(reverse("find"), {"scan": code})
    assert answer.status_code == 302, words(answer)
    return answer.url


def test_a_preparation_and_its_label_lead_each_role_to_its_own_page(everybody: Cast, shown: Hands) -> None:
    label = Label.objects.get(preparation=shown.preparation).code
    pages = {
        shown.technician: reverse("step", args=[shown.code]),
        everybody["pharmacist"]: reverse("check", args=[shown.code, shown.step.place]),
        everybody["supervisor"]: reverse("now"),
    }
    for who, page in pages.items():
        assert [leads(who, code) for code in (shown.code, label, label.lower())] == [page] * 3
        assert sign_in(who).get(reverse("find_code", args=[shown.code])).url == page


def test_a_hold_comes_before_the_check(everybody: Cast, shown: Hands) -> None:
    run.raise_hold(code=shown.code, person=shown.technician, key=key(), note="a leak at the port")
    hold = shown.preparation.holds.get()
    assert leads(everybody["pharmacist"], shown.code) == reverse("hold", args=[shown.code, hold.pk])


@pytest.mark.parametrize(
    ("scan", "said"),
    [
        ("HCRHE6CTP", "the code of a hood"),
        ("]d20102000000000013", "product"),
        ("PZZZZZZZZ", "has a wrong character in it"),
        ("", "scan"),
        ("hello", "hello"),
    ],
)
def test_anything_else_is_said_so(everybody: Cast, scan: str, said: str) -> None:
    answer = sign_in(everybody["pharmacist"]).post(reverse("find"), {"scan": scan})
    assert answer.status_code == 409
    assert said in words(answer)


def test_a_preparation_that_waits_for_nobody_says_where_it_is(everybody: Cast, shown: Hands) -> None:
    shown.do()
    answer = sign_in(everybody["pharmacist"]).get(reverse("find_code", args=[shown.code]))
    assert answer.status_code == 409
    assert "waits for no pharmacist now: it has come to" in words(answer)
