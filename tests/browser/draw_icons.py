"""Draw the icons anew from their one drawing: run this file, and it writes static/icons/*.png.

A maskable icon keeps its mark within the middle 80 %: it may be cut to a circle (W3C manifest, memory).
"""

from __future__ import annotations

import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright

ICONS = Path(__file__).resolve().parents[2] / "static" / "icons"
#: Name, pixels, and how large the mark stands on its ground.
WANTED = (
    ("icon-192", 192, "1"),
    ("icon-512", 512, "1"),
    ("maskable-192", 192, ".78"),
    ("maskable-512", 512, ".78"),
    ("touch-180", 180, ".92"),
)


def draw() -> None:
    """Draw every wanted size."""
    drawing = (ICONS / "counterdraw.svg").read_text(encoding="utf-8")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name, size, scale in WANTED:
            placed = f'<g transform="translate(256 256) scale({scale}) translate(-256 -268)"'
            sized = drawing.replace("<g", placed).replace("<svg", f'<svg width="{size}" height="{size}"')
            page = browser.new_page(viewport={"width": size, "height": size})
            page.set_content(f'<body style="margin:0">{sized}')
            page.screenshot(path=ICONS / f"{name}.png")
        browser.close()


if __name__ == "__main__":
    draw()
