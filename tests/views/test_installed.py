"""The manifest and the worker: what a browser asks of them (W3C manifest and service workers, memory)."""

from __future__ import annotations

import json
import re

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import Resolver404, resolve
from PIL import Image

from cast import Cast
from tests.checklists.walks import sign_in, words


def manifest_for(browser: Client) -> dict:
    answer = browser.get("/manifest.webmanifest")
    assert answer["Content-Type"] == "application/manifest+json"
    return json.loads(answer.content)


@pytest.mark.parametrize(
    ("role", "first"), [("technician", "/make/"), ("pharmacist", "/check/"), ("supervisor", "/now/")]
)
def test_each_role_finds_its_own_shortcuts_and_may_go_there(everybody: Cast, role: str, first: str) -> None:
    browser = sign_in(everybody[role])
    urls = [one["url"] for one in manifest_for(browser)["shortcuts"]]
    assert urls[0] == first
    assert [browser.get(url).status_code for url in urls] == [200] * len(urls)


def test_whoever_is_not_signed_in_is_offered_the_first_page_of_each_role(client: Client, db) -> None:
    assert [one["url"] for one in manifest_for(client)["shortcuts"]] == ["/make/", "/check/", "/now/"]


def test_every_icon_is_there_and_as_large_as_it_says(client: Client, db) -> None:
    icons = manifest_for(client)["icons"]
    assert {one["purpose"] for one in icons} == {"any", "maskable"}
    for icon in icons:
        with Image.open(finders.find(icon["src"].removeprefix("/static/"))) as picture:
            assert "{}x{}".format(*picture.size) == icon["sizes"]


def test_a_maskable_icon_keeps_its_mark_within_the_circle_that_is_never_cut() -> None:
    """Everything outside the middle 80 % is plain ground (W3C manifest, memory)."""
    with Image.open(finders.find("icons/maskable-512.png")) as picture:
        pixels = picture.convert("RGB")
        ground = pixels.getpixel((0, 0))
        reach = max(
            ((x - 256) ** 2 + (y - 256) ** 2) ** 0.5
            for x in range(0, 512, 2)
            for y in range(0, 512, 2)
            if pixels.getpixel((x, y)) != ground
        )
    assert reach <= 0.4 * 512


def test_the_worker_keeps_program_files_and_one_page_of_nobody(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    answer = browser.get("/sw.js")
    assert (answer["Content-Type"], answer["Cache-Control"]) == ("text/javascript", "no-cache")
    kept = json.loads(re.search(r"FILES = (\[.*\]);", answer.content.decode())[1])
    pages = [one for one in kept if not one.startswith("/static/")]
    assert pages == ["/away/"]
    assert all(finders.find(one.removeprefix("/static/")) for one in kept if one not in pages)
    assert everybody["technician"].name not in words(browser.get("/away/"))
    assert len(kept) < 80


def test_the_version_changes_with_what_is_kept(client: Client, db, monkeypatch) -> None:
    versions = set()
    for font in ("fonts/a.woff2", "fonts/b.woff2"):
        monkeypatch.setattr("checklists.worklists.installed.FONT", font)
        versions.add(re.search(r"counterdraw-(\w+)", client.get("/sw.js").content.decode())[1])
    assert len(versions) == 2


def test_the_worker_is_served_from_the_root() -> None:
    with pytest.raises(Resolver404):
        resolve("/static/sw.js")
    assert resolve("/sw.js").url_name == "worker"
