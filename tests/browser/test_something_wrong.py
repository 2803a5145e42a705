"""Something is wrong, by pedals alone: chosen, put right, drawn anew; and no screen of it scrolls."""

from __future__ import annotations

import pytest
from bench import dry_quickly, refuse_scrolling
from playwright.sync_api import Page, expect
from test_every_screen import signed_in

from cast import Hands, cast, hands, order

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]
SIZES = {"lying": (1280, 800), "upright": (800, 1280)}


def fits(page: Page) -> None:
    for name, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        size = page.evaluate(
            "() => [document.documentElement.scrollWidth, document.documentElement.scrollHeight]"
        )
        assert size == [width, height], f"{page.url} {name}"
    page.set_viewport_size({"width": 1280, "height": 800})


def hold_right(page: Page) -> None:
    """Hold the right pedal until what has the focus is chosen."""
    page.keyboard.down("PageDown")
    page.wait_for_timeout(1400)
    page.keyboard.up("PageDown")


def focus(page: Page, words: str) -> None:
    """Tap the right pedal until these words have the focus."""
    for _ in range(25):
        if words in page.evaluate("() => document.activeElement.innerText"):
            return
        page.keyboard.press("PageDown")
    raise AssertionError(f"{words} is not among the choices")


@pytest.fixture
def showing(tablet, live_server) -> tuple[Hands, Page]:
    """Two filled syringes are shown, and the tablet waits."""
    everybody = cast()
    work = hands(everybody, order("vancomycin-nacl-250", "1100 mg")).to("show")
    page = signed_in(tablet, live_server, everybody["technician"])
    page.goto(f"/make/{work.code}/")
    return work, page


def test_a_dropped_syringe_is_said_by_pedals_and_put_right(showing, shot, axe) -> None:
    work, page = showing
    page.keyboard.press("Escape")
    page.wait_for_url("**/wrong/")
    shot(page, "tablet-something-wrong")
    axe(page)
    fits(page)
    focus(page, "A syringe was dropped")
    page.keyboard.press("PageUp")
    page.keyboard.press("PageDown")
    hold_right(page)
    page.wait_for_url("**/wrong/dropped-syringe/")
    shot(page, "tablet-dropped-syringe")
    axe(page)
    fits(page)
    focus(page, "Syringe 2")
    assert not work.preparation.mishaps.exists(), "tapping only moves"
    hold_right(page)
    expect(page.locator("#step.step-gather_container")).to_be_visible()
    assert work.preparation.mishaps.get().about == "2"


def test_a_torn_glove_puts_its_steps_in_and_escape_goes_back(showing, axe) -> None:
    work, page = showing
    dry_quickly()
    page.goto(f"/make/{work.code}/wrong/torn-glove/")
    fits(page)
    page.get_by_role("button", name="New gloves").click()
    for kind in ("wash_hands", "rub_hands", "put_on_gloves"):
        expect(page.locator(f"#step.step-{kind}")).to_be_visible()
        axe(page)
        refuse_scrolling(page)
        page.locator("#step:not([data-fresh]) [data-do]:enabled").click()
    expect(page.locator("#step.step-disinfect_gloves")).to_be_visible()
    page.goto(f"/make/{work.code}/wrong/called-away/")
    page.keyboard.press("Escape")
    page.wait_for_url("**/wrong/")
    page.keyboard.press("Escape")
    expect(page.locator("#step.step-disinfect_gloves")).to_be_visible()
