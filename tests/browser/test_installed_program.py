"""The program as an installed one: without a network, at a new version, by plain http."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from cast import BADGES, PIN, cast, hands, order
from checklists.worklists import installed
from tests.conftest import LAUNCH, chromium

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]
CONTROLLED = "() => navigator.serviceWorker.ready.then(() => Boolean(navigator.serviceWorker.controller))"


@pytest.fixture
def page(device) -> Page:
    """A tablet that may have a service worker, and has it."""
    context: BrowserContext = device(1280, 800, service_workers="allow")
    page = context.new_page()
    page.goto("/sign-in/")
    page.wait_for_function(CONTROLLED)
    return page


def sign_in(page: Page, who: str) -> None:
    page.goto("/sign-in/")
    page.fill("input[name=badge]", BADGES[who])
    page.fill("input[name=pin]", PIN)
    page.press("input[name=pin]", "Enter")
    page.wait_for_url(lambda url: "sign-in" not in url)


def kept(page: Page) -> list[str]:
    return page.evaluate(
        """async () => {
          const caught = await Promise.all((await caches.keys()).map((name) => caches.open(name)));
          const requests = await Promise.all(caught.map((cache) => cache.keys()));
          return requests.flat().map((one) => new URL(one.url).pathname);
        }"""
    )


def test_without_a_network_a_page_says_so_and_comes_back_by_itself(page: Page, shot, axe) -> None:
    cast()
    sign_in(page, "technician")
    page.context.set_offline(True)
    page.goto("/make/")
    expect(page.get_by_role("heading", name="This page cannot be had just now")).to_be_visible()
    axe(page)
    shot(page, "tablet-away")
    page.context.set_offline(False)
    expect(page.get_by_role("heading", name="To make")).to_be_visible()
    pages = [one for one in kept(page) if not one.startswith("/static/")]
    assert pages == ["/away/"], "a page of somebody's work is kept"


def test_a_new_version_is_offered_between_preparations_never_during_one(
    page: Page, shot, monkeypatch
) -> None:
    work = hands(cast(), order()).to("gather_supplies")
    old, names = installed.worker(), "async () => (await caches.keys()).join()"
    before = page.evaluate(names)
    monkeypatch.setattr(installed, "worker", lambda: old | {"version": "f" * 12})
    sign_in(page, "technician")
    page.goto(f"/make/{work.code}/")
    page.wait_for_function("() => navigator.serviceWorker.getRegistration().then((one) => one.waiting)")
    expect(page.locator("#step.step-gather_supplies")).to_be_visible()
    assert page.locator("[data-update]").count() == 0
    page.goto("/make/")
    assert page.locator("[data-update]").count() == 0, "a preparation is open: not now"
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")
    expect(page.locator("[data-update]")).to_be_visible()
    shot(page, "tablet-new-version")
    with page.expect_navigation():
        page.locator("[data-update-take]").click()
    page.wait_for_function(CONTROLLED)
    expect(page.locator("[data-update]")).to_be_hidden()
    assert page.evaluate(names) == f"counterdraw-{'f' * 12}" != before


@pytest.fixture
def by_plain_http(settings, live_server, browser) -> Iterator[Page]:
    """A page at another name than this machine's own: to the browser no secure context."""
    settings.ALLOWED_HOSTS = ["*"]
    rules = "--host-resolver-rules=MAP pharmacy.test 127.0.0.1"
    other = browser.browser_type.launch(executable_path=chromium(), args=[*LAUNCH, rules])
    page = other.new_page(base_url=re.sub("localhost|127.0.0.1", "pharmacy.test", live_server.url))
    page.set_viewport_size({"width": 390, "height": 844})
    yield page
    other.close()


def test_plain_http_works_and_says_what_is_off(by_plain_http: Page, shot) -> None:
    cast()
    sign_in(by_plain_http, "pharmacist")
    assert by_plain_http.evaluate("() => [isSecureContext, 'serviceWorker' in navigator]") == [False, False]
    expect(by_plain_http.locator("[data-plain-http]")).to_contain_text("plain http")
    shot(by_plain_http, "phone-plain-http")
