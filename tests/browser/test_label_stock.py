"""Labels on stock of every size: exactly as large as it, every word within it – or it says what to shorten.

Sizes are common label stocks (common practice, no source). A label that would be cut off is not printed.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from django.test import Client
from playwright.sync_api import BrowserContext, Page

from cast import Hands, cast, hands, order, stock_batch
from checklists.worklists.papers import SIZES

pytestmark = pytest.mark.django_db(transaction=True)

#: What lies outside the label, or is wider than its own line; both are cut off on paper.
OUTSIDE = """(label) => {
  const room = label.getBoundingClientRect();
  return [...label.querySelectorAll("p, svg")].filter((one) => {
    const box = one.getBoundingClientRect();
    return box.bottom > room.bottom + 0.5 || box.right > room.right + 0.5 || box.left < room.left - 0.5
      || box.top < room.top - 0.5 || one.scrollWidth > one.clientWidth + 1;
  }).map((one) => one.textContent);
}"""
MM = Decimal(96) / Decimal("25.4")
POINT = Decimal("25.4") / Decimal(72)


@pytest.fixture
def printed(device: Callable[..., BrowserContext], live_server) -> Callable[[Hands, str], Page]:
    """Open the labels of a preparation on stock of a size."""
    context = device(1440, 900, has_touch=False)

    def opened(work: Hands, size: str) -> Page:
        client = Client()
        client.force_login(work.technician)
        value = client.cookies["counterdraw"].value
        context.add_cookies([{"name": "counterdraw", "value": value, "url": live_server.url}])
        page = context.new_page()
        page.goto(f"/paper/{work.code}/label/?size={size}")
        page.wait_for_function("() => document.fonts.status === 'loaded'")
        return page

    return opened


def sheets_of(page: Page, path: Path) -> set[tuple[int, int]]:
    """Return the sizes of the sheets that would be printed, in mm."""
    page.pdf(path=path, prefer_css_page_size=True)
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", path.read_bytes())
    return {
        (round(Decimal(wide.decode()) * POINT), round(Decimal(high.decode()) * POINT)) for wide, high in boxes
    }


ASKED = {
    "bag": lambda: order("vancomycin-nacl-250", "1100 mg"),
    "batch": stock_batch,
    "two-drugs": lambda: order("potassium-magnesium-nacl-1000", "20 mEq|2 g"),
}


def measured(page: Page, work: Hands, size: str, pdf: Path) -> bool:
    """See that the first label is as large as its stock, with nothing outside it; say whether it fits."""
    width, height = map(int, size.split("x"))
    assert page.locator("article.label").count() == work.worksheet.units
    first = page.locator("article.label").first
    box = first.bounding_box()
    assert box
    assert abs(Decimal(box["width"]) - width * MM) < 1
    assert abs(Decimal(box["height"]) - height * MM) < 1
    if first.evaluate("(label) => label.classList.contains('is-clipped')"):
        said = first.locator("xpath=following-sibling::p[1]")
        assert "does not fit on this stock" in said.inner_text()
        assert said.inner_text().count("“") == 3
        return False
    assert first.evaluate(OUTSIDE) == []
    assert sheets_of(page, pdf) == {(width, height)}
    return True


@pytest.mark.parametrize("what", ASKED)
def test_a_label_fits_its_stock_or_says_what_to_shorten(printed, shot, tmp_path: Path, what: str) -> None:
    everybody = cast()
    work = hands(everybody, ASKED[what]()).to("first_check")
    fitting = []
    for size in SIZES:
        page = printed(work, size)
        shot(page.locator("article.label").first, f"label-{what}-{size}")
        shot(page, f"label-page-{what}-{size}")
        if measured(page, work, size, tmp_path / "label.pdf"):
            fitting.append(size)
        page.close()
    assert fitting[:2] == ["100x50", "70x40"]
