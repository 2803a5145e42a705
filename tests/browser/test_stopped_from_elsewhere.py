"""What is decided elsewhere reaches the tablet beside the hood by itself."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from cast import BADGES, PIN, cast, hands, key, order
from checklists import run

pytestmark = pytest.mark.django_db(transaction=True)


def sign_in(page, who: str) -> None:
    page.goto("/sign-in/")
    page.fill("input[name=badge]", BADGES[who])
    page.fill("input[name=pin]", PIN)
    page.press("input[name=pin]", "Enter")
    page.wait_for_url(lambda url: "sign-in" not in url)


def test_an_order_cancelled_with_the_work_in_the_hood_stops_the_tablet(tablet, shot) -> None:
    everybody = cast()
    work = hands(everybody, order()).to("draw")
    page = tablet.new_page()
    sign_in(page, "technician")
    page.goto(f"/make/{work.code}/")
    expect(page.locator("#step.step-draw")).to_be_visible()
    run.cancel_order(order=work.order, reason="patient moved", person=everybody["pharmacist"], key=key())
    expect(page.locator("#step .held")).to_be_visible(timeout=12_000)
    expect(page.locator("#step .held")).to_contain_text("the order was cancelled", ignore_case=True)
    shot(page, "tablet-order-cancelled")


def test_a_locked_device_opens_again_where_it_was(tablet, shot) -> None:
    work = hands(cast(), order()).to("gather_supplies")
    page = tablet.new_page()
    sign_in(page, "technician")
    page.goto(f"/make/{work.code}/")
    page.goto(f"/lock/?next=/make/{work.code}/")
    page.goto(f"/make/{work.code}/")
    assert "/lock/" in page.url
    page.fill("input[name=pin]", "0000")
    page.press("input[name=pin]", "Enter")
    expect(page.get_by_text("The PIN is not right")).to_be_visible()
    shot(page, "tablet-lock-wrong-pin")
    page.fill("input[name=pin]", PIN)
    page.press("input[name=pin]", "Enter")
    expect(page.locator("#step.step-gather_supplies")).to_be_visible()
