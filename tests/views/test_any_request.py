"""Whatever is sent to any address by anybody, by any method and in any shape: an answer, never a fault.

Source: the issue (generated fuzz of every form and endpoint: no 500). `hostile.py` makes the requests.
"""

from __future__ import annotations

import random
import traceback
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from django.core.handlers.wsgi import WSGIRequest
from django.db import connection
from django.test import Client, RequestFactory

from cast import Cast, Hands, order, stock_batch
from checklists.models import Hood, Person, Photograph, Preparation, Step
from checklists.site import wsgi
from compounding.formulary.models import Lot, Order
from tests.checklists.walks import beside, sign_in, undone
from tests.views.hostile import Hostile, Sent, routes, values

BETWEEN = 40


@pytest.fixture(scope="module")
def stages(house: Cast) -> list[Hands]:
    """Work at every stage at which something is asked for, one on hold, one of a batch, one that ended."""
    works = [
        beside(house, order("vancomycin-nacl-250", "865 mg")).to(kind)
        for kind in (
            "gather_container",
            "first_check",
            "identify_hood",
            "draw",
            "show",
            "final_check",
            "release",
        )
    ]
    works[4].see(works[4].step, works[4].step.about["draws"][0], "1.1")
    works.append(beside(house, order("vancomycin-nacl-250", "865 mg")).to("show"))
    works.append(beside(house, stock_batch()).to("draw_units"))
    works.append(beside(house, order("ketorolac-syringe", "30 mg")).to_release())
    order("ondansetron-nacl-50", "8 mg")
    return works


def known() -> dict[str, list[str]]:
    return {
        "code": values(Preparation.objects.values_list("code", flat=True)),
        "place": values(Step.objects.filter(finished_at=None).values_list("place", flat=True)),
        "number": [
            *values(Order.objects.values_list("number", flat=True)),
            *values(Lot.objects.values_list("pk", flat=True)[:5]),
            *values(Hood.objects.values_list("pk", flat=True)[:5]),
            *values(Photograph.objects.values_list("pk", flat=True)),
        ],
        "reason": ["broken-container", "power-cut", "particle", "called-away"],
        "object_id": ["1", "2"],
        "app_label": ["checklists", "formulary"],
        "content_type_id": ["1", "3"],
    }


def signed_in(person: Person | None) -> Client:
    return sign_in(person) if person else Client()


def send(browser: Client, sent: Sent) -> Any:
    """Send it as it comes through the site's door."""
    return browser.generic(sent.method, sent.path, sent.body, wsgi.without_charset(sent.sort), **sent.headers)


def test_every_address_is_walked() -> None:
    assert len(routes()) > 130
    (step,) = [one for one in routes() if one.path == "make/<slug:code>/finish/<int:place>/"]
    assert step.roles == ("technician",)
    assert {"scan", "volume", "stands", "unit"} <= set(step.asks)


@pytest.mark.parametrize("charset", ["idna", "hex", "utf-16", "utf-7", "undefined", '"utf-8"', "nosuch"])
def test_a_body_is_read_as_utf_8_whatever_charset_is_named(
    charset: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    passed_on: list[dict[str, Any]] = []
    monkeypatch.setattr(wsgi, "_django", lambda environ, _start: passed_on.append(environ) or [])
    environ = RequestFactory().post("/?a=%FF", "pin=%C3%A9", "application/x-www-form-urlencoded").environ
    environ["CONTENT_TYPE"] += f"; Charset={charset}; a=b"
    wsgi.application(environ, None)
    request = WSGIRequest(passed_on[0])
    assert (request.GET["a"], request.POST["pin"]) == ("\ufffd", "\u00e9")


def test_a_locked_device_is_asked_for_the_pin_whatever_page_it_names(everybody: Cast) -> None:
    phone = sign_in(everybody["pharmacist"])
    phone.get("/lock/")
    for named in ("http://[", "http://testserver/check/", "\u00e9", ""):
        answer = phone.get("/check/", HTTP_HX_REQUEST="true", HTTP_HX_CURRENT_URL=named)
        assert answer.headers["HX-Redirect"].startswith("/lock/?next=%2F"), named


def test_any_request_is_answered_and_none_is_a_fault(
    everybody: Cast, stages: list[Hands], times: Callable[[int, int], int]
) -> None:
    hostile = Hostile(random.Random(20261125), known())
    counted: Counter[int] = Counter()
    faults: dict[str, str] = {}
    for _turn in range(times(8, 525)):
        with undone():
            technicians = {one.technician.pk: one.technician for one in stages}
            browsers = {
                "technician": sign_in(
                    hostile.chance.choice(sorted(technicians.values(), key=lambda p: p.pk))
                ),
                "pharmacist": sign_in(everybody["third pharmacist"]),
                "supervisor": sign_in(everybody["supervisor"]),
                "nobody": Client(),
            }
            for _ in range(BETWEEN):
                sent = hostile.request()
                status, fault = answered(browsers[sent.who], sent)
                counted[status] += 1
                if fault:
                    faults.setdefault(fault, str(sent))
    assert not faults, "\n\n".join(f"{sent}\n{fault}" for fault, sent in faults.items())
    assert set(counted) <= {200, 302, 304, 400, 403, 404, 405, 409, 301, 413, 429}, counted
    print(
        f"\n{connection.vendor}: {sum(counted.values())} requests, no fault: {dict(sorted(counted.items()))}"
    )


def answered(browser: Client, sent: Sent) -> tuple[int, str]:
    """Return the status, and where the program broke if it did."""
    browser.raise_request_exception = False
    answer = send(browser, sent)
    if answer.status_code < 500:
        return answer.status_code, ""
    told = getattr(answer, "exc_info", None)
    return answer.status_code, "".join(traceback.format_exception(*told)[-6:]) if told else "no exception"
