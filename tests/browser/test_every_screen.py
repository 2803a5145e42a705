"""Every other screen, at its own size, photographed and examined: lists, forms, papers, desk, refusals."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from playwright.sync_api import BrowserContext, Page

from cast import Cast, Hands, cast, hands, key, order, stock_batch
from checklists import run
from checklists.models import OpenedContainer, Person, Preparation
from checklists.worklists.run_plan import suggested
from compounding.formulary.models import Lot

TOO_WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]


@pytest.fixture
def everybody() -> Cast:
    return cast()


@pytest.fixture
def desk(device) -> BrowserContext:
    return device(1440, 900, has_touch=False)


@pytest.fixture
def examined(shot, axe) -> Callable[[Page, str, str], None]:
    """Go to an address, photograph it as `name`, let axe examine it, see that nothing lies to the side."""

    def examine(page: Page, name: str, address: str) -> None:
        page.goto(address)
        shot(page, name, full_page=True)
        axe(page)
        wide = page.evaluate(
            "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert wide <= 0, f"{address} is {wide} too wide"

    return examine


def signed_in(context: BrowserContext, live_server, person) -> Page:
    client = Client()
    client.force_login(person)
    value = client.cookies["counterdraw"].value
    context.add_cookies([{"name": "counterdraw", "value": value, "url": live_server.url}])
    return context.new_page()


@pytest.fixture
def busy(everybody) -> Hands:
    """One preparation held in a hood, one paused, one released, one handed over, and orders that wait."""
    released = hands(everybody, order("ondansetron-nacl-50", "8 mg")).to_release()
    assert released.preparation.state == "released"
    hands(everybody, stock_batch()).to("final_check")
    paused = hands(everybody, order("aminophylline-d5w-100", "350 mg")).to("draw")
    run.pause(code=paused.code, person=paused.technician, key=key(), reason="called away to a spill")
    run.clear_hood(code=paused.code, person=paused.technician, key=key())
    held = hands(everybody, order("fluorouracil-nacl-500", "800 mg")).to("draw")
    run.raise_hold(code=held.code, person=held.technician, key=key(), note="the stopper is cored")
    for patient in ("Caspian Mwangi", "Odalys Brandt"):
        order("heparin-d5w-250", "25000 units", patient_name=patient)
    order("potassium-magnesium-nacl-1000", "20 mEq|2 g", patient_name="Hyun-woo Tate")
    return held


def test_the_supervisors_desk(desk, live_server, everybody, busy, examined) -> None:
    page = signed_in(desk, live_server, everybody["supervisor"])
    released = code_of("released")
    for name, address in {
        "now": "/now/",
        "finished": "/finished/",
        "finished-one": f"/finished/{released}/",
        "hoods": "/hoods/",
        "orders": "/orders/",
        "calculator": "/calculator/",
        "record": f"/paper/{released}/record/",
        "shelf": "/shelf/",
        "done-card": "/shelf/done-card/",
        "stock": "/stock/",
        "opened": "/stock/opened/",
        "opened-label": f"/stock/opened/{OpenedContainer.objects.get(discarded_at=None).code}/label/",
        "lot": f"/stock/{recalled_lot().pk}/",
    }.items():
        examined(page, f"desk-{name}", address)
        assert not page.locator(".label-clipped").is_visible(), address


@pytest.fixture
def order_desk(desk, live_server, everybody) -> Page:
    return signed_in(desk, live_server, everybody["pharmacist"])


def test_orders_are_entered_and_changed(order_desk, busy, examined, shot, axe) -> None:
    page = order_desk
    examined(page, "desk-order-choose", "/orders/new/")
    examined(page, "desk-order-form", "/orders/new/?formulation=acyclovir-nacl-250")
    page.fill("input[name=body_weight]", "62,5 kg")
    page.locator("main form[method=post] button").last.click()
    page.locator(".field-error").first.wait_for()
    shot(page, "desk-order-faults", full_page=True)
    axe(page)
    assert page.input_value("input[name=body_weight]") == "62,5 kg"
    number = busy.order.number
    examined(page, "desk-order", f"/orders/{number}/")
    examined(page, "desk-order-change", f"/orders/{number}/change/")
    examined(page, "desk-run-plan", "/stock/plan/")


def test_the_technicians_other_screens(tablet, live_server, everybody, busy, examined) -> None:
    run.put_plan_up(rows=suggested(), person=everybody["pharmacist"], key=key())
    page = signed_in(tablet, live_server, everybody["technician"])
    for place in ("/make/", "/make/?page=2", f"/make/{busy.code}/wrong/"):
        page.goto(place)
        for width, height in ((1280, 800), (800, 1280)):
            page.set_viewport_size({"width": width, "height": height})
            high = page.evaluate("() => document.documentElement.scrollHeight")
            assert high <= height, f"{place} is {high} high at {width}x{height}"
    page.set_viewport_size({"width": 1280, "height": 800})
    examined(page, "tablet-list-busy", "/make/")
    examined(page, "tablet-held", f"/make/{busy.code}/")
    examined(page, "tablet-something-wrong", f"/make/{busy.code}/wrong/")
    examined(page, "tablet-handed-over", f"/make/{code_of('handed-over')}/")
    examined(page, "tablet-label", f"/paper/{busy.code}/label/")
    examined(page, "tablet-not-there", "/make/PXXXXXXXX/")
    examined(page, "tablet-not-mine", "/check/")
    examined(page, "tablet-lock", "/lock/?next=/make/")


def test_the_phones_other_screens(phone, live_server, everybody, busy, examined) -> None:
    page = signed_in(phone, live_server, everybody["pharmacist"])
    examined(page, "phone-list-busy", "/check/")
    hold = busy.preparation.holds.get()
    examined(page, "phone-hold", f"/hold/{busy.code}/{hold.pk}/")
    examined(page, "phone-gone", f"/check/{busy.code}/1/")
    examined(page, "phone-orders", "/orders/")
    examined(page, "phone-calculator", "/calculator/")
    examined(page, "phone-hand-over", "/hand-over/?next=/check/")


def test_pages_that_need_no_sign_in(phone, examined, db) -> None:
    page = phone.new_page()
    examined(page, "phone-sign-in", "/sign-in/")
    examined(page, "phone-about", "/about/")
    examined(page, "phone-nothing-here", "/nothing-here/")


def recalled_lot() -> Lot:
    """A lot that work of every state holds, recalled here."""
    lot = Preparation.objects.get(state="released").materials.first().lot
    run.change_lot(
        lot=lot,
        to="recalled",
        reason="a particle was found in a retained sample",
        person=Person.objects.get(role="supervisor"),
        key=key(),
    )
    return lot


def code_of(state: str) -> str:
    return Preparation.objects.get(state=state).code
