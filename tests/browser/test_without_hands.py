"""From disinfected gloves to the label without touching the tablet: pedals, the "done" card, the voice.

The pedals' keys are the program's own; that hands stay in first air is common practice, no source.
"""

from __future__ import annotations

import re

import pytest
from bench import dry_quickly, refuse_scrolling
from django.test import Client
from playwright.sync_api import BrowserContext, Page, expect

from cast import Cast, Hands, cast, hands, order
from checklists.method.step_kinds import KINDS, Actor
from checklists.models import Step
from compounding.formulary import codes
from compounding.formulary.policy import change_policy
from compounding.reckoning.quantities import number_in, write_number

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]

#: What would be said, kept instead, from page to page.
LISTEN = """
const kept = location.protocol.startsWith("http") ? sessionStorage : null;  // a blank page has none
window.said = JSON.parse(kept?.getItem("said") ?? "[]");
Object.defineProperty(window, "speechSynthesis", {
  value: {
    speak: (one) => {
      window.said.push(one.text);
      kept?.setItem("said", JSON.stringify(window.said));
    },
    cancel: () => {},
  },
});
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
"""


@pytest.fixture
def everybody() -> Cast:
    return cast()


def at(work: Hands, tablet: BrowserContext, live_server) -> Page:
    """Open the step the work has come to, on a tablet whose voice is listened to."""
    client = Client()
    client.force_login(work.technician)
    value = client.cookies["counterdraw"].value
    tablet.add_cookies([{"name": "counterdraw", "value": value, "url": live_server.url}])
    tablet.add_init_script(LISTEN)
    page = tablet.new_page()
    page.goto(f"/make/{work.code}/")
    return page


def ready(page: Page, step: Step) -> None:
    """Wait until that step is on the screen and would take a press."""
    page.locator(f"#step[data-step$='/finish/{step.place}/']:not([data-fresh])").wait_for(timeout=15_000)
    page.locator("[data-do]:enabled").wait_for(timeout=15_000)


def press_twice(page: Page) -> None:
    """Press the right pedal as a nervous foot does: twice at once, held until it repeats."""
    page.keyboard.down("PageDown")
    page.keyboard.down("PageDown")  # what a held key sends: a repeat
    page.keyboard.up("PageDown")
    page.wait_for_timeout(60)
    page.keyboard.press("PageDown")
    page.wait_for_timeout(150)
    page.keyboard.press("PageDown")


def scan(page: Page, text: str) -> None:
    """Send what a scanner sends."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def finished(step: Step, page: Page) -> None:
    for _ in range(200):
        if Step.objects.get(pk=step.pk).finished_at:
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"{step.kind} was not finished: {page.locator('#step').inner_text()}")


def test_a_whole_preparation_by_keyboard_alone(everybody, tablet, live_server, shot) -> None:
    dry_quickly()
    work = hands(everybody, order("vancomycin-nacl-250", "1100 mg")).to("disinfect_gloves")
    page = at(work, tablet, live_server)
    while (step := work.step).kind != "apply_label":
        (checked if KINDS[step.kind].actor is Actor.CHECKER else pressed)(page, work, step)
    label_scanned(page, work, shot)
    heard(page, work)
    assert work.preparation.readings.count() == len(work.worksheet.draws)


def checked(page: Page, work: Hands, step: Step) -> None:
    """The pedal opens the camera; the checker reads in person meanwhile, and the tablet goes on by itself."""
    page.locator(f"#step.step-{step.kind}:not([data-fresh])").wait_for()
    page.keyboard.press("PageDown")
    page.wait_for_url("**/photograph/**")
    work.do(step)


def pressed(page: Page, work: Hands, step: Step) -> None:
    ready(page, step)
    press_twice(page)
    finished(step, page)
    page.wait_for_timeout(700)
    assert work.step.place == after(work, step), "a double press finished a second step"


def label_scanned(page: Page, work: Hands, shot) -> None:
    """Neither pedal nor card finishes the scan of the label; the label does."""
    page.locator("#step.step-apply_label:not([data-fresh])").wait_for()
    page.keyboard.press("PageDown")
    expect(page.locator("#notice")).to_have_text("This step is finished by a scan, not by a press.")
    scan(page, codes.done_card())
    expect(page.locator("#step .refusal")).to_contain_text("This is the “done” card")
    shot(page, "tablet-done-card-refused")
    assert work.step.kind == "apply_label"
    page.wait_for_timeout(300)
    scan(page, work.preparation.labels.get().code)
    page.locator("#step.step-dispose").wait_for()


def after(work: Hands, step: Step) -> int:
    return work.preparation.steps.filter(place__gt=step.place).first().place


def heard(page: Page, work: Hands) -> None:
    """Every step was said, each draw with its amount, a shown draw and the patient never."""
    said = page.evaluate("() => window.said")
    told = " ".join(said)
    for draw in work.worksheet.draws:
        assert f"{write_number(number_in(draw.target, 'mL'))} millilitres" in told
    shown = [text for text in said if text.startswith("Lay the filled syringes")]
    assert len(shown) == 2
    assert not [text for text in shown if re.search(r"\d", text)]
    patient = (*work.order.patient_name.split(), work.order.patient_identifier, "1961")
    assert not [name for name in patient if name in told]


def test_the_done_card_presses_once_however_long_it_lies_there(everybody, tablet, live_server) -> None:
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg")).to("peel_wraps")
    page = at(work, tablet, live_server)
    first = work.step
    scan(page, codes.done_card())  # the step has only just come
    assert work.step == first
    page.wait_for_timeout(2200)
    page.locator("details.why summary").focus()
    for _again in range(4):
        scan(page, codes.done_card())
        page.wait_for_timeout(700)
    finished(first, page)
    assert work.step.kind == "disinfect_gloves"
    page.wait_for_timeout(2200)
    scan(page, codes.done_card())
    expect(page.locator("#notice")).to_have_text("Not yet: the time of this step is not over.")
    assert page.locator("details[open]").count() == 0


def test_hands_that_leave_by_pedal_are_disinfected_first(everybody, tablet, live_server, shot) -> None:
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg")).to("draw")
    page = at(work, tablet, live_server)
    ready(page, work.step)
    page.keyboard.down("PageUp")
    page.keyboard.press("PageDown")
    page.keyboard.up("PageUp")
    page.locator("#step.step-disinfect_gloves").wait_for()
    expect(page.locator(".hands-out")).to_be_visible()
    shot(page, "tablet-hands-out")
    assert not work.preparation.readings.exists()
    assert page.evaluate("() => document.activeElement.id") == "instruction"


def test_the_left_pedal_held_says_that_something_is_wrong(everybody, tablet, live_server) -> None:
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg")).to("draw")
    page = at(work, tablet, live_server)
    ready(page, work.step)
    page.keyboard.press("PageUp")
    page.keyboard.press("Enter")
    assert page.locator("#step.step-draw").count() == 1
    page.keyboard.down("PageUp")
    page.wait_for_url("**/wrong/")
    assert work.step.kind == "draw"


def test_a_muted_voice_stays_mute(everybody, tablet, live_server) -> None:
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg")).to("draw")
    page = at(work, tablet, live_server)
    assert len(page.evaluate("() => window.said")) == 1
    page.get_by_role("button", name="Voice is on").click()
    page.reload()
    expect(page.get_by_role("button", name="Voice is off")).to_be_visible()
    assert len(page.evaluate("() => window.said")) == 1


def test_a_plunger_elsewhere_is_set_by_pedals(everybody, tablet, live_server, shot) -> None:
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg")).to("draw")  # 4 of 5 mL, a mark each 0.2 mL
    page = at(work, tablet, live_server)
    ready(page, work.step)
    moved(page)
    shot(page, "tablet-plunger-elsewhere")
    refuse_scrolling(page, lambda name: shot(page, f"tablet-plunger-elsewhere-{name}"))
    edge, end = page.evaluate(DRAWN_EDGE)
    assert edge == pytest.approx(3.8 / 5 * end, abs=0.5), "the picture shows another number"
    scan(page, codes.done_card())  # asserts nothing while the plunger is being set
    page.keyboard.press("Enter")
    page.keyboard.down("PageUp")
    page.keyboard.down("PageDown")
    page.wait_for_timeout(300)
    assert not work.preparation.readings.exists()
    page.locator("#step.step-show").wait_for()
    reading = work.preparation.readings.get()
    assert (str(reading.volume_ml.normalize()), reading.is_at_mark) == ("3.8", False)


def moved(page: Page) -> None:
    """Open the plunger by the left pedal pressed twice; move it by pedals and arrows to 3.8 mL."""
    page.keyboard.press("PageUp")
    page.keyboard.press("PageUp")
    stands = page.locator("[data-at]")
    expect(stands).to_have_text("0")
    for key in ("PageDown", "PageDown", "ArrowRight", "PageUp"):
        page.keyboard.press(key)
    expect(stands).to_have_text("0.4")
    page.keyboard.down("ArrowDown")
    page.wait_for_function("() => Number(document.querySelector('[data-at]').textContent) > 2")
    page.keyboard.up("ArrowDown")
    while stands.inner_text() != "3.8":
        page.keyboard.press("PageUp" if float(stands.inner_text()) > 3.8 else "PageDown")


#: How far the edge was moved from empty, and how far it is from empty to full, in the picture's own units.
DRAWN_EDGE = """() => {
  const part = document.querySelector('.syringe-moving [data-plunger]:has(.edge)');
  const [zero, end] = [Number(part.dataset.zeroY), Number(part.dataset.endY)];
  return [part.transform.baseVal[0].matrix.f - zero, end - zero];
}"""


def test_policy_may_ask_for_the_plunger_always(everybody, tablet, live_server, shot) -> None:
    change_policy(reason="after a near miss", by="test", always_by_plunger="always")
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg")).to("draw")
    page = at(work, tablet, live_server)
    ready(page, work.step)
    shot(page, "tablet-always-by-plunger")
    press_twice(page)
    expect(page.locator(".elsewhere[open] [data-at]")).to_be_visible()
    assert not work.preparation.readings.exists()
    page.keyboard.press("PageUp")
    while page.locator("[data-at]").is_visible():
        page.keyboard.press("PageUp")  # left at empty goes back
    assert page.locator("#step.step-draw").count() == 1


def test_a_step_ends_sooner_by_a_reason_chosen_with_pedals(everybody, tablet, live_server, shot) -> None:
    work = hands(everybody, order("cefazolin-nacl-100", "750 mg")).to("dissolve")
    page, step = at(work, tablet, live_server), work.step
    page.locator("#step.step-dissolve:not([data-fresh])").wait_for()
    held(page)
    assert page.locator("details.sooner[open]").count() == 0, "“No, wait on” shuts it"
    page.keyboard.press("PageUp")
    page.keyboard.press("PageUp")
    expect(page.locator(":focus")).to_have_text("No, wait on")
    page.keyboard.press("PageDown")
    expect(page.locator(":focus")).to_have_text("All dissolved: clear, no particles")
    refuse_scrolling(page, lambda name: shot(page, f"tablet-ends-sooner-{name}"))
    page.keyboard.down("PageDown")
    finished(step, page)
    page.keyboard.up("PageDown")
    assert Step.objects.get(pk=step.pk).reason == "All dissolved: clear, no particles"
    assert work.step.kind == "swab_sites"


def held(page: Page) -> None:
    """Open the reasons by the left pedal pressed twice, and hold the right one on the first of them."""
    page.keyboard.press("PageUp")
    page.keyboard.press("PageUp")
    expect(page.locator(":focus")).to_have_text("No, wait on")
    page.keyboard.down("PageDown")
    page.locator("details.sooner:not([open])").wait_for()
    page.keyboard.up("PageDown")
