"""Measure that nothing of a tablet's screen lies outside it or under its bar."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page

CUT_OFF = """() => {
  const root = document.documentElement;
  const inner = [...document.querySelectorAll('#step, #step *')].filter((one) => {
    const style = getComputedStyle(one);
    const isCut = one.clientHeight > 1 && one.scrollHeight > one.clientHeight + 1;
    return isCut && !/visible/.test(style.overflowY);
  });
  const bar = document.querySelector('#step footer').getBoundingClientRect();
  const isInside = (one) => one.parentElement?.closest('svg');
  const under = [...document.querySelectorAll('.work *')].filter(
    (one) => one.getBoundingClientRect().bottom > bar.top + 1 && !isInside(one));
  const cut = [...inner, ...under].map((one) => one.outerHTML.slice(0, 90));
  return [root.scrollWidth, root.scrollHeight, cut];
}"""


def refuse_scrolling(page: Page, shoot: Callable[[str], object] = lambda name: None) -> None:
    """Measure that nothing of the screen lies outside it or under its bar, lying and upright."""
    size = page.viewport_size
    for name, width, height in (("lying", 1280, 800), ("upright", 800, 1280)):
        page.set_viewport_size({"width": width, "height": height})
        shoot(name)
        wide, high, cut = page.evaluate(CUT_OFF)
        assert wide <= width, f"{page.url} is {wide} wide at {width}"
        assert high <= height, f"{page.url} is {high} high at {height}"
        assert not cut, f"{cut} is cut off at {width}x{height}"
    if size:
        page.set_viewport_size(size)
