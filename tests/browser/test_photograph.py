"""A draw shown by photograph: taken by pedal after a countdown, enlarged on the phone, asked for anew.

Chromium's own pretended camera stands for a real one; a picture file for a device without any.
"""

from __future__ import annotations

from io import BytesIO

import pytest
from bench import refuse_scrolling
from PIL import Image
from playwright.sync_api import Page, expect
from test_every_screen import TOO_WIDE, signed_in
from test_something_wrong import fits

from cast import Hands, cast, hands, order
from checklists import darkroom
from checklists.models import Photograph

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]


@pytest.fixture
def showing(tablet, live_server) -> tuple[Hands, Page]:
    """Two filled syringes are shown, and the tablet waits."""
    everybody = cast()
    work = hands(everybody, order("vancomycin-nacl-250", "1100 mg")).to("show")
    page = signed_in(tablet, live_server, everybody["technician"])
    page.goto(f"/make/{work.code}/")
    return work, page


@pytest.fixture
def checker(phone, live_server, showing) -> Page:
    """The pharmacist's phone."""
    return signed_in(phone, live_server, showing[0].cast["pharmacist"])


def pedal(page: Page) -> None:
    page.wait_for_timeout(700)
    page.keyboard.press("PageDown")


def test_a_photograph_is_taken_by_pedal_and_read_on_the_phone(showing, checker, shot, axe) -> None:
    work, page = showing
    looked_at(page, shot, axe, "tablet-show-by-photograph")
    pedal(page)
    page.wait_for_url("**/photograph/*/")
    expect(page.locator("[data-camera-bar]")).to_be_visible()
    page.wait_for_timeout(500)
    shot(page, "tablet-camera")
    axe(page)
    fits(page)
    pedal(page)
    expect(page.locator("[data-camera-count]")).to_have_text("3")
    shot(page, "tablet-camera-countdown")
    expect(page.get_by_text("1 photograph is with the pharmacist.")).to_be_visible(timeout=8000)
    assert max(Image.open(BytesIO(darkroom.read_back(Photograph.objects.get().file))).size) <= 2000
    looked_at(page, shot, axe, "tablet-photographed")
    checker.goto(f"/check/{work.code}/{work.step.place}/")
    on_the_phone(checker, shot, axe)
    checker.get_by_text("I cannot read the photograph").click()
    shot(checker, "phone-cannot-read-photograph", full_page=True)
    checker.get_by_role("button", name="Ask for another photograph").click()
    expect(page.get_by_text("cannot read the photograph: take another.")).to_be_visible(timeout=8000)
    expect(checker.locator(".photograph")).to_have_count(0)
    looked_at(page, shot, axe, "tablet-photograph-asked-anew")


def looked_at(page: Page, shot, axe, name: str) -> None:
    axe(page)
    refuse_scrolling(page)
    shot(page, name)


def on_the_phone(page: Page, shot, axe) -> None:
    picture = page.locator(".photograph img")
    assert picture.evaluate("(one) => one.decode().then(() => one.naturalWidth)") > 300
    axe(page)
    assert page.evaluate(TOO_WIDE) <= 0
    shot(page, "phone-photograph", full_page=True)
    picture.click()
    expect(page.locator("[data-enlarged]")).to_be_visible()
    page.locator(".enlarged-room img").click()
    assert page.evaluate("() => document.querySelector('.enlarged-room').scrollWidth") > 1000
    shot(page, "phone-photograph-enlarged")
    page.get_by_role("button", name="Close").click()
    page.fill("input[name=volume]", "1")
    assert page.input_value("input[name=volume]") == "1"


def test_a_picture_file_is_made_smaller_on_the_device_and_shown(showing) -> None:
    work, page = showing
    page.goto(f"/make/{work.code}/photograph/{work.step.place}/")
    out = BytesIO()
    Image.new("RGB", (3000, 2400), "white").save(out, "PNG")
    field = page.locator("input[type=file]")
    field.set_input_files({"name": "scale.png", "mimeType": "image/png", "buffer": out.getvalue()})
    page.wait_for_function("() => document.querySelector('input[type=file]').files[0]?.type === 'image/jpeg'")
    page.get_by_role("button", name="Send this file").click()
    expect(page.get_by_text("1 photograph is with the pharmacist.")).to_be_visible()
    assert Image.open(BytesIO(darkroom.read_back(Photograph.objects.get().file))).size == (2000, 1600)
