"""The picture sheet as a browser draws it: forty pictures, edges at their marks, words large and apart.

Sixteen CSS pixels is the least that is read from a metre away on the tablet (common practice, no source).
"""

from __future__ import annotations

import re

import pytest
from django.test import Client
from playwright.sync_api import Page

from cast import cast

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]

#: Where each plunger's edge is drawn, and where the scale's first and last marks are: pixels on the screen.
EDGES = """() => [...document.querySelectorAll('.is-tall')].map((one) => {
  const middle = (mark) => { const box = mark.getBoundingClientRect(); return (box.top + box.bottom) / 2; };
  const marks = [...one.querySelectorAll('.graduation')].map(middle);
  const edge = one.querySelector('[data-plunger] .edge').getBoundingClientRect().top;
  return [one.querySelector('figcaption').innerText, edge, Math.min(...marks), Math.max(...marks)];
})"""
#: What a script does to set the plunger, and where its edge then is.
MOVE = """([number, volume]) => {
  const picture = document.querySelectorAll('[data-syringe]')[number];
  for (const part of picture.querySelectorAll('[data-plunger]')) {
    const { zeroY, endY } = part.dataset;
    const y = Number(zeroY) + (Number(endY) - Number(zeroY)) * volume / Number(picture.dataset.size);
    part.setAttribute('transform', `translate(0 ${y})`);
  }
  return picture.querySelector('[data-plunger] .edge').getBoundingClientRect().top;
}"""
#: Every text of every picture: in which picture, its words, its size and its box on the screen.
WORDS = """() => [...document.querySelectorAll('.sheet-picture > svg')].flatMap((picture, number) =>
  [...picture.querySelectorAll('text')].filter((one) => one.textContent.trim()).map((one) => {
    const box = one.getBoundingClientRect();
    const size = parseFloat(getComputedStyle(one).fontSize) * one.getScreenCTM().a;
    const turned = Math.abs(one.getScreenCTM().b) > 0.01;
    return [number + 1, one.textContent.trim(), size, turned,
            [box.left, box.top + box.height * 0.18, box.right, box.bottom - box.height * 0.18]];
  }))"""
#: Each thing of the hoods: its key and its box in the drawing's own units.
THINGS = """() => [...document.querySelectorAll('svg.hood')].map((hood) =>
  Object.fromEntries([...hood.querySelectorAll('.thing')].map((one) => {
    const box = one.querySelector('.body').getBBox();
    return [one.dataset.key, [box.x, box.y, box.width, box.height]];
  })))"""


@pytest.fixture
def sheet(tablet, live_server, settings) -> Page:
    settings.DEBUG = True
    client = Client()
    client.force_login(cast()["technician"])
    value = client.cookies["counterdraw"].value
    tablet.add_cookies([{"name": "counterdraw", "value": value, "url": live_server.url}])
    page = tablet.new_page()
    page.goto("/pictures/")
    page.evaluate("() => document.fonts.ready.then(() => true)")
    return page


def test_the_sheet_of_pictures(sheet, shot, axe) -> None:
    assert sheet.locator(".picture-sheet > li").count() == 40
    shot(sheet, "picture-sheet", full_page=True)
    axe(sheet)
    edges_stand_at_their_marks(sheet)
    words_are_large_and_apart(sheet)
    plungers_move_mark_by_mark(sheet)
    things_stand_where_they_were_placed(sheet)
    sheet.emulate_media(media="print")
    shot(sheet, "picture-sheet-print", full_page=True)


def edges_stand_at_their_marks(sheet: Page) -> None:
    measured = [one for one in sheet.evaluate(EDGES) if " in " in one[0]]
    assert len(measured) == 12
    for title, edge, zero, full in measured:
        target, size = re.search(r"([\d.]+) mL in ([\d.]+) mL", title).groups()
        assert abs(edge - (zero + (full - zero) * float(target) / float(size))) <= 0.5, title


def plungers_move_mark_by_mark(sheet: Page) -> None:
    scales = [one[2:] for one in sheet.evaluate(EDGES) if "to be moved" in one[0]]
    for number, (size, volume) in enumerate([(1, 0.37), (20, 17)]):
        zero, full = scales[number]
        for wanted in (volume, 0, size):
            edge = sheet.evaluate(MOVE, [number, wanted])
            assert abs(edge - (zero + (full - zero) * wanted / size)) <= 0.5


def words_are_large_and_apart(sheet: Page) -> None:
    words = sheet.evaluate(WORDS)
    assert len(words) > 200
    assert [(number, word, size) for number, word, size, _turned, _box in words if size < 15.99] == []
    collisions = [
        (one[0], one[1], other[1])
        for place, one in enumerate(words)
        for other in words[place + 1 :]
        if one[0] == other[0] and not (one[3] or other[3]) and meets(one[4], other[4])
    ]
    assert collisions == []


def meets(one: list[float], other: list[float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def things_stand_where_they_were_placed(sheet: Page) -> None:
    from checklists.worklists import picture_sheet

    hoods = [one.given for one in picture_sheet.sheet() if one.size == "wide"]
    for drawn, hood in zip(sheet.evaluate(THINGS), hoods, strict=True):
        assert set(drawn) == {item.key for item in hood.items}
        for item in hood.items:
            wanted = (item.area.x, item.area.y, item.area.width, item.area.height)
            far = [abs(at - float(where)) for at, where in zip(drawn[item.key], wanted, strict=True)]
            assert max(far) <= 0.15, item.key
