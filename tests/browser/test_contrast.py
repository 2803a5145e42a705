"""Every word stands out from its ground by 7:1 or more, in every theme (WCAG 2.2, 1.4.6; page)."""

from __future__ import annotations

import pytest
from playwright.sync_api import BrowserContext, Page

from cast import BADGES, PIN, cast, hands, order

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]

THEMES = ("paper", "dim", "contrast")
#: Colours are painted and read back, so that the browser itself turns them into numbers.
FAINT = """(theme) => {
  document.documentElement.dataset.theme = theme;
  const brush = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const numbers = (colour) => {
    brush.clearRect(0, 0, 1, 1);
    brush.fillStyle = colour;
    brush.fillRect(0, 0, 1, 1);
    return [...brush.getImageData(0, 0, 1, 1).data];
  };
  const light = ([r, g, b]) => [r, g, b].map((one) => {
    const part = one / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  }).reduce((sum, one, at) => sum + one * [0.2126, 0.7152, 0.0722][at], 0);
  // What lies beneath the words where they stand: not always what they are written in.
  const beneath = (element) => {
    const { left, top, width, height } = element.getBoundingClientRect();
    const stack = document.elementsFromPoint(left + width / 2, top + height / 2);
    if (stack.includes(element)) return stack.slice(stack.indexOf(element));
    const around = [];
    for (let one = element; one; one = one.parentElement) around.push(one);
    return around;
  };
  const ground = (element) => beneath(element)
    .map((one) => numbers(getComputedStyle(one).backgroundColor))
    .find((painted) => painted[3] === 255) ?? numbers("white");
  const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const faint = [];
  let count = 0;
  while (words.nextNode()) {
    const text = words.currentNode.textContent.trim();
    const element = words.currentNode.parentElement;
    if (!text || element.closest("svg, [hidden], .only-heard, .skip, script, :disabled")) continue;
    if (!element.checkVisibility()) continue;
    const [one, other] = [light(numbers(getComputedStyle(element).color)), light(ground(element))];
    const ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
    count += 1;
    if (ratio < 7) faint.push(`${ratio.toFixed(2)} ${theme}: ${text.slice(0, 40)} (${element.className})`);
  }
  return [count, faint];
}"""


def sign_in(context: BrowserContext, who: str) -> Page:
    page = context.new_page()
    page.goto("/sign-in/")
    page.fill("input[name=badge]", BADGES[who])
    page.fill("input[name=pin]", PIN)
    page.press("input[name=pin]", "Enter")
    page.wait_for_url(lambda url: "sign-in" not in url)
    return page


def test_every_word_stands_out_in_every_theme(tablet: BrowserContext, phone: BrowserContext, shot) -> None:
    work = hands(cast(), order("vancomycin-nacl-250", "1100 mg")).to("show")
    bench, hand = sign_in(tablet, "technician"), sign_in(phone, "pharmacist")
    check = f"/check/{work.code}/{work.step.place}/"
    screens = [
        (
            bench,
            ("/make/", f"/make/{work.code}/", f"/make/{work.code}/wrong/", "/about/", "/install/", "/away/"),
        ),
        (hand, ("/check/", check, "/orders/", "/you/", "/calculator/")),
    ]
    faint, seen = [], 0
    for page, addresses in screens:
        for address in addresses:
            page.goto(address)
            for theme in THEMES:
                count, found = page.evaluate(FAINT, theme)
                seen += count
                faint += [f"{address} {one}" for one in found]
            if address == f"/make/{work.code}/":
                shot(page, "tablet-contrast-theme")
    assert seen > 900, "hardly a word was measured"
    assert faint == []
