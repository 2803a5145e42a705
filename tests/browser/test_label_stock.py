"""Labels on stock of every size: exactly as large as it, every word within it – or it says what to shorten.

Sizes are common label stocks (common practice, no source). A label that would be cut off is not printed.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.db.models.functions import Length
from django.test import Client
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page

from cast import Hands, cast, hands, order, stock_batch
from checklists.models import OpenedContainer
from checklists.worklists.label_sheets import SIZES
from compounding.formulary import codes
from compounding.formulary.models import Lot

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]

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
    """Open the labels at an address, signed in as the technician of the work."""
    context = device(1440, 900, has_touch=False)

    def opened(work: Hands, address: str) -> Page:
        client = Client()
        client.force_login(work.technician)
        value = client.cookies["counterdraw"].value
        context.add_cookies([{"name": "counterdraw", "value": value, "url": live_server.url}])
        page = context.new_page()
        page.goto(address)
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
    "bag": (lambda: order("vancomycin-nacl-250", "1100 mg"), ("units",)),
    "batch": (stock_batch, ("units", "bin")),
    "two-drugs": (lambda: order("potassium-magnesium-nacl-1000", "20 mEq|2 g"), ("units",)),
    "ampoules": (lambda: order("aminophylline-d5w-100", "350 mg"), ("syringes", "opened")),
}
ON_THE_SMALLEST = {"batch bin", "ampoules syringes", "ampoules opened"}


def stand_open(work: Hands) -> str:
    """Let the vial with the longest name stand open; return its code."""
    at, lot = timezone.now(), Lot.objects.order_by(-Length("product__name")).exclude(product__kind="bag")[0]
    return OpenedContainer.objects.create(
        code=codes.make("C", b"open!"),
        lot=lot,
        first=work.preparation.materials.first(),
        opened_for=work.preparation,
        opened_at=at,
        opened_by=work.technician,
        use_ends_at=at + timedelta(days=28),
        left_ml=5,
    ).code


def measured(page: Page, size: str, pdf: Path) -> bool:
    """See that the first label is as large as its stock, with nothing outside it; say whether it fits."""
    width, height = map(int, size.split("x"))
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
    ask, kinds = ASKED[what]
    work = hands(cast(), ask()).to("first_check")
    opened = f"/stock/opened/{stand_open(work)}/label/" if "opened" in kinds else ""
    counts = {"units": work.worksheet.units, "syringes": len(work.worksheet.draws) - 1}
    for kind in kinds:
        fitting = []
        for size in SIZES:
            address = opened if kind == "opened" else f"/paper/{work.code}/label/"
            page = printed(work, f"{address}?size={size}&of={kind}")
            assert page.locator("article.label").count() == counts.get(kind, 1)
            shot(page.locator("article.label").first, f"label-{what}-{kind}-{size}")
            shot(page, f"label-page-{what}-{kind}-{size}")
            if measured(page, size, tmp_path / "label.pdf"):
                fitting.append(size)
            page.close()
        assert fitting[:2] == ["100x50", "70x40"]
        assert "50x25" in fitting or f"{what} {kind}" not in ON_THE_SMALLEST
