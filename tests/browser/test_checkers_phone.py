"""The checker's phone: one scan to the check; what is typed outlives an interruption; long waits are told."""

from __future__ import annotations

from datetime import timedelta

import pytest
import zxingcpp
from django.utils import timezone
from measuring import refuse_scrolling
from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect

from cast import BADGES, PIN, Hands, cast, hands, order

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]
STORED = """async () => JSON.stringify([
  localStorage.getItem("counterdraw-typed"), await outbox.owners(), await outbox.waiting(),
])"""


def sign_in(context: BrowserContext, who: str) -> Page:
    page = context.new_page()
    page.goto("/sign-in/")
    page.fill("input[name=badge]", BADGES[who])
    page.fill("input[name=pin]", PIN)
    page.press("input[name=pin]", "Enter")
    page.wait_for_url(lambda url: "sign-in" not in url)
    return page


@pytest.fixture
def work() -> Hands:
    """Syringes that have waited for six minutes to be read."""
    work = hands(cast(), order("vancomycin-nacl-250", "1100 mg")).to("show")
    waited = timezone.now() - timedelta(minutes=6)
    work.preparation.steps.filter(pk=work.step.pk).update(started_at=waited)
    return work


def test_a_tablet_that_waits_long_says_whom_to_call_and_leads_a_phone_to_the_check(
    tablet: BrowserContext, work: Hands, shot, axe
) -> None:
    bench = sign_in(tablet, "technician")
    bench.goto(f"/make/{work.code}/")
    expect(bench.locator(".waits-late")).to_contain_text(
        "a locked phone does not ring. Call now, any of: Beatriz Quiroga"
    )
    axe(bench)
    refuse_scrolling(bench)
    with Image.open(shot(bench, "tablet-waits-long")) as picture:
        (square,) = zxingcpp.read_barcodes(picture)
    assert square.text == f"{bench.url.partition('/make/')[0]}/find/{work.code}/"


def test_what_is_typed_at_a_check_outlives_an_interruption_and_stays_there(
    phone: BrowserContext, work: Hands, shot, axe
) -> None:
    page = sign_in(phone, "pharmacist")
    page.goto(f"/find/{work.code}/")
    page.wait_for_url(f"**/check/{work.code}/{work.step.place}/")
    page.fill("input[name=volume]", "21.5")
    page.goto("/check/")
    page.go_back()
    page.reload()
    expect(page.locator("input[name=volume]")).to_have_value("21.5")
    expect(page.locator("[data-seen]")).to_contain_text("21.5")
    assert page.evaluate(STORED) == "[null,[],[]]", "an amount lies where another page could read it"
    other = phone.new_page()
    other.goto(f"/find/{work.code}/")
    expect(other.locator("input[name=volume]")).to_have_value("")

    page.goto("/check/")
    page.get_by_text("Scan or type a label").click()
    axe(page)
    shot(page, "phone-find")
    page.fill("input[name=scan]", work.preparation.labels.get().code)
    page.get_by_role("button", name="Go to it").click()
    page.wait_for_url(f"**/check/{work.code}/{work.step.place}/")
