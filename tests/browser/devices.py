"""A device somebody is signed in at: a tablet or a phone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import BrowserContext, Page

from cast import PIN


@dataclass
class Device:
    """A device somebody is signed in at. Every new screen is photographed, measured and examined."""

    context: BrowserContext
    name: str
    shot: Callable[..., Path]
    axe: Callable[[Page], None]
    seen: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page = self.context.new_page()

    def sign_in(self, badge: str) -> None:
        """Type badge and PIN, as a scanner and a thumb do."""
        self.page.goto("/sign-in/")
        self.look("sign in")
        self.page.fill("input[name=badge]", badge)
        self.page.fill("input[name=pin]", PIN)
        self.page.press("input[name=pin]", "Enter")
        self.page.wait_for_url(lambda url: "sign-in" not in url)

    def hand_over(self, badge: str) -> None:
        """Let another person take the device."""
        self.page.goto("/hand-over/")
        self.look("hand over")
        self.page.fill("input[name=badge]", badge)
        self.page.fill("input[name=pin]", PIN)
        self.page.press("input[name=pin]", "Enter")
        self.page.wait_for_url(lambda url: "hand-over" not in url)

    def look(self, what: str) -> None:
        """Photograph a screen the first time it is met, and let axe examine it."""
        name = f"{self.name} {what}".replace(" ", "-").replace("_", "-")
        if name in self.seen:
            return
        self.seen.append(name)
        self.axe(self.page)
        self.shot(self.page, name)
