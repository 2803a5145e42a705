"""Scanning without looking: a scanner types into a page where nothing has the focus; a photograph is read."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client
from playwright.sync_api import BrowserContext, Page, expect

from cast import Hands, cast, hands, order, usable_lot
from compounding.formulary.models import Lot
from tests.formulary.test_photographed import photographed_as, qr_code

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]


@pytest.fixture
def gathering() -> Hands:
    """A preparation whose first container is to be gathered."""
    return hands(cast(), order("vancomycin-nacl-250", "1100 mg")).to("gather_container")


@pytest.fixture
def at_the_step(tablet: BrowserContext, live_server, gathering: Hands) -> Page:
    client = Client()
    client.force_login(gathering.technician)
    value = client.cookies["counterdraw"].value
    tablet.add_cookies([{"name": "counterdraw", "value": value, "url": live_server.url}])
    page = tablet.new_page()
    page.goto(f"/make/{gathering.code}/")
    page.evaluate("() => document.activeElement.blur()")
    assert page.evaluate("() => document.activeElement === document.body")
    return page


def wanted(work: Hands) -> Lot:
    return usable_lot(work.worksheet.container(work.step.about["container"]).product)


def next_container(page: Page) -> None:
    expect(page.locator(".eyebrow")).to_contain_text("container 2 of")


def type_as_scanner(page: Page, text: str, separator: str, end: str = "Enter") -> None:
    """Send the keys as a scanner does; where a busy machine lets them trail, scan again, as one would."""
    for _ in range(5):
        for letter in text:
            page.keyboard.press(separator) if letter == "\x1d" else page.keyboard.press(letter)
        page.keyboard.press(end)
        page.wait_for_timeout(500)
        if page.locator(".eyebrow", has_text="container 2 of").count():
            return


@pytest.mark.parametrize(("separator", "end"), [("Control+]", "Enter"), ("F8", "Tab")])
def test_a_scanner_types_into_a_page_with_no_focused_field(
    at_the_step: Page, gathering: Hands, separator: str, end: str
) -> None:
    lot = wanted(gathering)
    text = f"]d201{lot.product.gtin}10{lot.number}\x1d17{lot.expires_on:%y%m%d}21S77"
    type_as_scanner(at_the_step, text, separator, end)
    next_container(at_the_step)
    taken = gathering.preparation.materials.get()
    assert (taken.lot, taken.serial) == (lot, "S77")


def test_every_way_a_scanner_sends_the_separator(at_the_step: Page) -> None:
    """Ctrl+], ASCII 29 as a key of its own, or Alt with 0 2 9: as the events that a browser makes of them."""
    sent = """(ways) => ways.map((keys) => {
      const field = document.querySelector("input[name=scan]");
      let taken = null;
      field.form.requestSubmit = () => { taken = field.value; };
      for (const [type, init] of keys) document.body.dispatchEvent(
        new KeyboardEvent(type, { bubbles: true, cancelable: true, ...init }));
      return taken;
    })"""
    padded = [["keydown", {"key": "Alt", "altKey": True}]]
    padded += [["keydown", {"key": one, "code": f"Numpad{one}", "altKey": True}] for one in "029"]
    padded += [["keyup", {"key": "Alt"}]]
    separators = (
        [["keydown", {"key": "\x1d"}]],
        [["keydown", {"key": "]", "code": "BracketRight", "ctrlKey": True}]],
        padded,
    )
    after = [["keydown", {"key": one}] for one in ("1", "7", "2", "7", "Enter")]
    ways = [  # another code each: one read twice at once counts once
        [["keydown", {"key": one}] for one in f"10AB{number}"] + separator + after
        for number, separator in enumerate(separators)
    ]
    assert at_the_step.evaluate(sent, ways) == [f"10AB{number}\x1d1727" for number in range(3)]


def test_typing_by_hand_is_no_scan(at_the_step: Page, gathering: Hands) -> None:
    for letter in "01024":
        at_the_step.keyboard.press(letter)
        at_the_step.wait_for_timeout(80)
    at_the_step.keyboard.press("Enter")
    assert at_the_step.input_value("input[name=scan]") == ""
    assert gathering.preparation.materials.count() == 0


def test_a_photograph_is_read_by_the_server_where_the_browser_cannot(
    at_the_step: Page, gathering: Hands, tmp_path: Path, shot, axe
) -> None:
    shot(at_the_step, "tablet-gather-with-photograph")
    axe(at_the_step)
    nothing, code = tmp_path / "table.jpg", tmp_path / "code.jpg"
    lot = wanted(gathering)
    nothing.write_bytes(photographed_as(qr_code("x").resize((1, 1)), 0))
    code.write_bytes(
        photographed_as(qr_code(f"(01){lot.product.gtin}(17){lot.expires_on:%y%m%d}(10){lot.number}"), 17)
    )
    assert at_the_step.evaluate("() => !('BarcodeDetector' in window)")
    at_the_step.set_input_files("input[data-read]", nothing)
    expect(at_the_step.locator("#notice")).to_contain_text("No code was found in the photograph.")
    at_the_step.set_input_files("input[data-read]", code)
    next_container(at_the_step)
    assert gathering.preparation.materials.get().lot == lot


def test_the_browsers_own_reader_is_asked_first(at_the_step: Page, gathering: Hands, tmp_path: Path) -> None:
    lot = wanted(gathering)
    text = f"01{lot.product.gtin}10{lot.number}\x1d17{lot.expires_on:%y%m%d}"
    at_the_step.evaluate(
        """(text) => { window.BarcodeDetector = class {
             constructor(options) { if (!options.formats.includes("data_matrix")) throw new Error(); }
             async detect() { return [{ rawValue: text }]; } }; }""",
        text,
    )
    picture = tmp_path / "code.jpg"
    picture.write_bytes(photographed_as(qr_code("not read by the server"), 0))
    asked: list[str] = []
    at_the_step.on("request", lambda request: asked.append(request.url))
    at_the_step.set_input_files("input[data-read]", picture)
    next_container(at_the_step)
    assert not [url for url in asked if url.endswith("/scan/")]
    assert gathering.preparation.materials.get().lot == lot
