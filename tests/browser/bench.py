"""Two people at two devices, a tablet and a phone, doing what the screens ask."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from devices import Device
from measuring import refuse_scrolling
from playwright.sync_api import Page, expect
from plunger import move_plunger

from cast import BADGES, PIN, fresh
from checklists.counting import items_left, one_of
from checklists.models import Preparation, Step
from compounding.formulary.models import Product, SitePolicy
from compounding.formulary.policy import change_policy
from compounding.reckoning.quantities import number_in, write_number
from compounding.reckoning.worksheet import Worksheet, from_plain


def dry_quickly() -> None:
    """Let alcohol dry and powder dissolve in a second: browsers wait for real."""
    change_policy(reason="quick tests", by="test", alcohol_dry_seconds=10)
    SitePolicy.objects.update(**{f.name: 1 for f in SitePolicy._meta.fields if f.name.endswith("_seconds")})
    Product.objects.filter(reconstitution_seconds__gt=0).update(reconstitution_seconds=1)


@dataclass
class Journey:
    """One order from the list to its release, by two people."""

    tablet: Device
    phone: Device
    number: str
    wrong_draw: int = 0
    code: str = ""

    @property
    def preparation(self) -> Preparation:
        """Return the preparation as it is now."""
        return Preparation.objects.get(code=self.code)

    @property
    def worksheet(self) -> Worksheet:
        """Return its worksheet."""
        return from_plain(self.preparation.worksheet)

    @property
    def step(self) -> Step | None:
        """Return the step the work has come to."""
        return self.preparation.steps.filter(finished_at=None).first()

    def open(self) -> None:
        """Open the order from the list."""
        self.tablet.page.goto("/make/")
        self.tablet.look("list")
        self.tablet.page.locator(f"form[action$='/make/open/{self.number}/'] button").click()
        self.tablet.page.wait_for_url(re.compile(r"/make/P\w+/$"))
        self.code = self.tablet.page.url.rstrip("/").rsplit("/", 1)[-1]

    def run(self) -> None:
        """Do every step to the release."""
        while step := self.step:
            if self.preparation.holds.filter(resolved_at=None).exists():
                self.resolve()
            elif step.kind in CHECKS:
                CHECKS[step.kind](self, step)
            else:
                self.at_the_hood(step)

    def at_the_hood(self, step: Step) -> None:
        """Do one step on the tablet."""
        page = self.tablet.page
        expect(page.locator(f"#step.step-{step.kind}")).to_be_visible()
        self.tablet.look(f"{step.kind}")
        refuse_scrolling(page)
        HANDS.get(step.kind, Journey.press)(self, step)
        self.wait_until_finished(step)

    def wait_until_finished(self, step: Step) -> None:
        """Wait until the server has the step."""
        for _ in range(100):
            if Step.objects.get(pk=step.pk).finished_at:
                return
            self.tablet.page.wait_for_timeout(50)
        raise AssertionError(
            f"{step.kind} was not finished: {self.tablet.page.locator('#step').inner_text()}"
        )

    def press(self, step: Step) -> None:
        """Press the bar, once it may be pressed."""
        self.tablet.page.locator("#step:not([data-fresh]) [data-do]:enabled").click()

    def scan(self, text: str) -> None:
        """Scan: what a keyboard scanner types into the field."""
        self.tablet.page.fill("input[name=scan]", text)
        self.tablet.page.press("input[name=scan]", "Enter")

    def _container(self, step: Step) -> None:
        self.scan(fresh(self.worksheet.container(step.about["container"]).product))

    def _hood(self, step: Step) -> None:
        self.scan("H5PPFEFRS" if self.worksheet.hazardous else "HCRHE6CTP")

    def _print(self, step: Step) -> None:
        with self.tablet.context.expect_page() as opened:
            self.tablet.page.get_by_role("button", name=re.compile("Print the")).click()
        opened.value.wait_for_load_state()
        self.tablet.axe(opened.value)
        self.tablet.shot(opened.value, "tablet-label-page")
        opened.value.close()
        self.press(step)

    def _label(self, step: Step) -> None:
        self.scan(self.preparation.labels.filter(unit=step.about["unit"]).latest("print_number").code)

    def _draw(self, step: Step) -> None:
        draw = self.worksheet.draw(step.about["draw"])
        is_first = not self.preparation.readings.filter(draw=draw.number).exists()
        if draw.number == self.wrong_draw and is_first:
            move_plunger(self.tablet.page, as_typed(number_in(draw.target, "mL") - 2))
        else:
            self.press(step)

    def _each_unit(self, step: Step) -> None:
        """Do a counted step unit by unit; press twice each time, as a nervous foot does."""
        page = self.tablet.page
        while left := items_left(step, self.worksheet):
            expect(page.locator(".counter strong")).to_have_text(str(left[0].number))
            HANDS_OF_A_UNIT[step.kind](self, one_of(step, left[0]))
            self.wait_until_counted(step, left[0].number)
        assert step.stamps.count() == self.worksheet.units

    def wait_until_counted(self, step: Step, number: int) -> None:
        """Wait until the server has that unit, and see that it has no more."""
        for _ in range(100):
            done = list(step.stamps.values_list("unit", flat=True))
            if done and done[-1] >= number:
                assert done[-1] == number, "a double press counted two"
                return
            self.tablet.page.wait_for_timeout(50)
        raise AssertionError(f"unit {number} was not counted")

    def _pedal_twice(self, step: Step) -> None:
        """The right pedal, once the guard against a bounce is over, and at once again."""
        self.tablet.page.wait_for_timeout(650)
        for _press in range(2):
            self.tablet.page.keyboard.press("PageDown")

    def _count(self, step: Step) -> None:
        """Count wrongly first, hear what does not add up, and count again."""
        page = self.tablet.page
        for in_hand, words in (("11", "12 planned less 0 rejected leaves 12; 11 are in hand."), ("12", "")):
            page.fill("input[name=in_hand]", in_hand)
            page.fill("input[name=destroyed]", "0")
            self.press(step)
            if words:
                expect(page.locator("#step .refusal")).to_contain_text(words)
                refuse_scrolling(page)

    def take(self, step: Step) -> Page:
        """Find the check on the phone's list, without a reload, and take it."""
        self.tablet_waits(step)
        page = self.phone.page
        if not page.url.endswith("/check/"):
            page.goto("/check/")
        button = page.locator(f"form[action*='/check/{self.code}/{step.place}/take/'] button")
        button.wait_for()
        self.phone.look(f"list {step.kind}")
        button.click()
        page.wait_for_url(f"**/check/{self.code}/{step.place}/")
        self.phone.look(step.kind)
        return page

    def tablet_waits(self, step: Step) -> None:
        """See the tablet wait, with no amount of a shown draw on it."""
        page = self.tablet.page
        if self.preparation.state != "in-work":
            self.tablet.look("done")
            return
        expect(page.locator(f"#step.step-{step.kind}")).to_be_visible()
        self.tablet.look(step.kind)
        refuse_scrolling(page)
        if step.kind == "show":
            text = page.content()
            for number in step.about["draws"]:
                assert f">{write_number(number_in(self.worksheet.draw(number).target, 'mL'))} mL" not in text

    def first_check(self, step: Step) -> None:
        """Type every volume, blind."""
        page = self.take(step)
        for transfer in self.worksheet.transfers:
            page.fill(f"input[name=volume_{transfer.number}]", as_typed(number_in(transfer.required, "mL")))
        page.check("input[name=materials]")
        self.phone.look("first check filled")
        self.commit(page, step)

    def show(self, step: Step) -> None:
        """Read every syringe."""
        page = self.take(step)
        for number in step.about["draws"]:
            expect(page.locator(f"#check[data-syringe='{number}']")).to_be_visible()
            page.fill("input[name=volume]", as_typed(number_in(self.worksheet.draw(number).target, "mL")))
            page.locator("form.reading .thumb button").click()
        page.wait_for_url("**/committed/")
        agrees = not self.preparation.holds.filter(resolved_at=None).exists()
        self.phone.look("agree" if agrees else "differ")

    def final_check(self, step: Step) -> None:
        """State each thing inspected."""
        page = self.take(step)
        for name in ("as_ordered", "clear", "sound", "used"):
            page.check(f"input[name={name}]")
        self.commit(page, step)

    def release(self, step: Step) -> None:
        """Sign."""
        page = self.take(step)
        page.fill("input[name=pin]", PIN)
        self.commit(page, step)
        self.phone.look("released")

    def commit(self, page: Page, step: Step) -> None:
        """Send the form in front."""
        with page.expect_navigation():
            page.locator("main form .thumb button").first.click()

    def resolve(self) -> None:
        """Resolve the open hold: draw again."""
        hold = self.preparation.holds.get(resolved_at=None)
        expect(self.tablet.page.locator("#step .held")).to_be_visible()
        self.tablet.look("held")
        refuse_scrolling(self.tablet.page)
        page = self.phone.page
        page.goto(f"/hold/{self.code}/{hold.pk}/")
        # This checker committed the reading and has seen the amounts; anybody else is asked first.
        page.locator("input[name=resolution][value=draw-again]").wait_for()
        page.check("input[name=resolution][value=draw-again]")
        page.fill("form[action$='/resolve/'] [name=reason]", "plunger two marks short; draw to the mark")
        page.fill("form[action$='/resolve/'] input[name=pin]", PIN)
        self.phone.look("hold open")
        with page.expect_navigation():
            page.locator("form[action$='/resolve/'] .thumb button").click()
        # Whoever has seen the amounts cannot read the second draw blind.
        self.phone.hand_over(BADGES["second pharmacist"])


CHECKS: dict[str, Callable[[Journey, Step], None]] = {
    "first_check": Journey.first_check,
    "show": Journey.show,
    "final_check": Journey.final_check,
    "release": Journey.release,
}
HANDS: dict[str, Callable[[Journey, Step], None]] = {
    "gather_container": Journey._container,
    "identify_hood": Journey._hood,
    "print_label": Journey._print,
    "apply_label": Journey._label,
    "draw": Journey._draw,
    "draw_units": Journey._each_unit,
    "label_units": Journey._each_unit,
    "reconcile": Journey._count,
}
HANDS_OF_A_UNIT: dict[str, Callable[[Journey, Step], None]] = {
    "draw_units": Journey._pedal_twice,
    "label_units": Journey._label,
}


def as_typed(number: object) -> str:
    """Return a number as a thumb types it."""
    return write_number(number, 3).replace(",", "")
