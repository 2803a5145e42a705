"""The drawn plunger, moved as a foot does."""

from __future__ import annotations

from playwright.sync_api import Page


def move_plunger(page: Page, volume: str) -> None:
    """Open it, set it to that volume mark by mark, and hold both pedals until the draw is taken."""
    page.get_by_text("It stands elsewhere").click()
    while page.locator("[data-at]").inner_text() != volume:
        page.keyboard.press("PageDown")
    page.keyboard.down("PageUp")
    page.keyboard.down("PageDown")
    page.locator("#step:not(:has(.elsewhere[open]))").wait_for()
    page.keyboard.up("PageUp")
    page.keyboard.up("PageDown")
