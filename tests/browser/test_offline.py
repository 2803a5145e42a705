"""The bench without a network: what is finished is kept, sent once and in order, with its true time."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable

import pytest
from bench import dry_quickly
from django.contrib.sessions.models import Session
from measuring import refuse_scrolling
from playwright.sync_api import BrowserContext, Page, Route, expect

from cast import BADGES, PIN, Hands, cast, hands, order
from checklists import run
from checklists.method.away import Away, away_of
from checklists.method.step_kinds import Actor, row_of
from checklists.models import Entry, Step

expect.set_options(timeout=12_000)
pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]
PACKED = """async (place) => {
  const pack = await outbox.ahead(document.getElementById("step").dataset.code);
  return pack?.at.place === place;
}"""
CONTROLLED = "() => navigator.serviceWorker.ready.then(() => Boolean(navigator.serviceWorker.controller))"


def sign_in(page: Page, who: str = "technician") -> None:
    page.goto("/sign-in/")
    page.fill("input[name=badge]", BADGES[who])
    page.fill("input[name=pin]", PIN)
    page.press("input[name=pin]", "Enter")
    page.wait_for_url(lambda url: "sign-in" not in url)


def at(page: Page, work: Hands) -> None:
    """Open the preparation and wait until its steps are on the device."""
    page.goto(f"/make/{work.code}/")
    expect(page.locator(f"#step.step-{work.step.kind}")).to_be_visible()
    for _ in range(200):
        if page.evaluate(PACKED, work.step.place):
            return
        page.wait_for_timeout(50)
    raise AssertionError("the steps ahead are not on the device")


def press(page: Page, kind: str) -> None:
    page.locator(f"#step.step-{kind}:not([data-fresh]) [data-do]:enabled").click()


def finished(work: Hands) -> list[str]:
    """Return the kinds finished, in the order of the record; each has to be there once."""
    entries = work.preparation.entries.filter(act="finish").order_by("number")
    return [json.loads(entry.text)["facts"]["step"] for entry in entries]


def arrives(page: Page, work: Hands, kind: str) -> None:
    """Wait until the server has come to a step and the page shows it as the server does."""
    expect(page.locator(f"#step.step-{kind}:not([data-ahead])")).to_be_visible()
    expect(page.locator("#kept")).to_be_hidden()
    assert work.step.kind == kind


@pytest.fixture
def work() -> Hands:
    everybody = cast()
    dry_quickly()
    return hands(everybody, order("potassium-magnesium-nacl-1000", "20 mEq|2 g"))


@pytest.fixture
def page(tablet: BrowserContext, work: Hands) -> Page:
    page = tablet.new_page()
    sign_in(page)
    return page


@pytest.fixture
def installed(device, work: Hands) -> Page:
    """A tablet with its service worker."""
    page = device(1280, 800, service_workers="allow").new_page()
    sign_in(page)
    page.wait_for_function(CONTROLLED)
    return page


def test_steps_go_on_without_network_and_arrive_once_in_order_with_true_times(
    page: Page, work: Hands, shot
) -> None:
    work.to("dispose")
    at(page, work)
    before = finished(work)
    page.context.set_offline(True)
    press(page, "dispose")
    expect(page.locator("#kept")).to_contain_text("1 finished step waits on this device")
    shot(page, "tablet-offline-kept")
    press(page, "hand_over")
    expect(page.locator("#step .away-why")).to_contain_text("its time runs by the program")
    expect(page.locator("#kept")).to_contain_text("2 finished steps wait")
    shot(page, "tablet-offline-waits")
    assert finished(work) == before
    page.wait_for_timeout(1200)
    page.context.set_offline(False)
    arrives(page, work, "clean_up")
    assert finished(work) == [*before, "dispose", "hand_over"]
    kept = Entry.objects.filter(act="finish").order_by("number").last()
    facts = json.loads(kept.text)["facts"]
    assert facts["device"]
    assert abs(facts["device_ahead_seconds"]) <= 2
    step = work.preparation.steps.get(kind="hand_over")
    assert (kept.at - step.finished_at).total_seconds() > 1, "it was done before it was sent"
    assert step.finished_at.isoformat()[:19] == facts["device_time"][:19]
    assert work.step.started_at >= kept.at, "drying begins only where the program sees it begin"


def test_a_killed_tab_loses_nothing(installed: Page, work: Hands, shot) -> None:
    work.to("dispose")
    at(installed, work)
    context = installed.context
    context.set_offline(True)
    press(installed, "dispose")
    expect(installed.locator("#step.step-hand_over")).to_be_visible()
    installed.close()
    page = context.new_page()
    page.goto(f"/make/{work.code}/")
    press(page, "hand_over")
    expect(page.locator("#kept")).to_contain_text("2 finished steps wait")
    page.goto(f"/make/{work.code}/wrong/")
    expect(page.get_by_role("heading", name="Stop. Leave everything as it lies")).to_be_visible()
    shot(page, "tablet-offline-wrong")
    page.goto(f"/make/{work.code}/")
    expect(page.locator("#step .away-why")).to_be_visible()
    context.set_offline(False)
    arrives(page, work, "clean_up")
    assert finished(work)[-2:] == ["dispose", "hand_over"]


def test_an_answer_lost_after_it_was_saved_counts_once(page: Page, work: Hands) -> None:
    work.to("dispose")
    at(page, work)

    def lose(route: Route) -> None:
        route.fetch()
        route.abort("connectionreset")

    page.route("**/finish/**", lose, times=1)
    press(page, "dispose")
    arrives(page, work, "hand_over")
    assert finished(work).count("dispose") == 1
    assert not Entry.objects.filter(act__startswith="kept").exists()


def test_a_server_that_starts_again_is_waited_for(page: Page, work: Hands) -> None:
    work.to("dispose")
    at(page, work)
    for where in ("**/finish/**", "**/kept/**", "**/away/"):
        page.route(where, lambda route: route.abort("connectionrefused"))
    press(page, "dispose")
    press(page, "hand_over")
    expect(page.locator("#kept")).to_contain_text("2 finished steps wait")
    page.unroute_all()
    arrives(page, work, "clean_up")
    assert finished(work)[-2:] == ["dispose", "hand_over"]


def test_a_session_that_lapsed_asks_for_the_pin_and_then_sends(page: Page, work: Hands, shot, axe) -> None:
    work.to("dispose")
    at(page, work)
    page.context.set_offline(True)
    press(page, "dispose")
    expect(page.locator("#step.step-hand_over")).to_be_visible()
    Session.objects.all().delete()
    page.context.set_offline(False)
    expect(page.locator("#kept")).to_contain_text("1 finished, not yet sent: sign in again to send.")
    axe(page)
    shot(page, "tablet-offline-pin")
    assert "dispose" not in finished(work)
    page.get_by_role("link", name="Sign in").click()
    page.wait_for_url("**/sign-in/**")
    page.fill("input[name=badge]", BADGES["technician"])
    page.fill("input[name=pin]", PIN)
    page.press("input[name=pin]", "Enter")
    arrives(page, work, "hand_over")
    assert finished(work).count("dispose") == 1


def test_a_step_refused_later_stops_the_work_and_says_why(page: Page, work: Hands, shot) -> None:
    work.to("dispose")
    at(page, work)
    page.context.set_offline(True)
    press(page, "dispose")
    press(page, "hand_over")
    run.pause(code=work.code, person=work.technician, key="from the ward", reason="called away")
    page.context.set_offline(False)
    expect(page.locator("#kept")).to_be_hidden()
    hold = work.preparation.holds.get()
    assert (hold.cause, hold.resolved_at) == ("kept-refused", None)
    sent = [json.loads(one.text)["facts"] for one in Entry.objects.filter(act="kept step refused")]
    assert [one["step"] for one in sent] == ["dispose", "hand_over"], "both are in the record, in order"
    run.resume(code=work.code, person=work.technician, key="back")
    page.goto(f"/make/{work.code}/")
    expect(page.locator("#step .held")).to_contain_text("paused")
    shot(page, "tablet-offline-refused")


def test_the_second_device_is_told_and_so_is_the_first(page: Page, device, work: Hands, shot) -> None:
    at(page, work)
    other = device(800, 1280).new_page()
    sign_in(other)
    other.goto(f"/make/{work.code}/")
    expect(other.locator("#step [role=status]")).to_contain_text("Another device had this open until")
    expect(page.locator("#step [role=status]")).to_contain_text("Also open on another device since")
    shot(page, "tablet-two-devices")
    refuse_scrolling(page)


def test_handing_over_erases_what_the_device_kept(page: Page, work: Hands) -> None:
    at(page, work)
    page.goto("/hand-over/")
    page.fill("input[name=badge]", BADGES["pharmacist"])
    page.fill("input[name=pin]", PIN)
    page.press("input[name=pin]", "Enter")
    page.wait_for_url("**/check/")
    assert page.evaluate("() => outbox.owners()") == []
    assert page.evaluate("() => outbox.ahead(location.pathname)") is None


def test_what_is_finished_is_sent_before_anybody_signs_out(page: Page, work: Hands) -> None:
    work.to("dispose")
    at(page, work)
    page.route("**/kept/**", lambda route: route.abort("failed"))
    page.route("**/finish/**", lambda route: route.abort("failed"), times=1)
    press(page, "dispose")
    expect(page.locator("#kept")).to_contain_text("1 finished step")
    page.goto("/make/")
    page.get_by_role("button", name="Sign out").click()
    expect(page.locator("#notice")).to_contain_text("They are sent first")
    assert page.url.endswith("/make/")
    page.unroute_all()
    expect(page.locator("#kept")).to_be_hidden()
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")
    assert finished(work)[-1] == "dispose"
    assert page.evaluate("() => outbox.owners()") == []


def typed_without_network(page: Page, step: Step) -> None:
    """Do what the step asks where the network is gone: it waits, says why, and what was typed stays."""
    field = page.locator("#step input[name=scan]:visible")
    if field.count():
        field.fill("typed by hand")
        field.press("Enter")
        expect(page.locator("#notice")).to_contain_text("This waits for the network")
        expect(field).to_have_value("typed by hand")
    else:
        press(page, step.kind)
        expect(page.locator("#notice")).to_contain_text("This waits for the network")


def cut(page: Page, work: Hands, step: Step) -> None:
    """Finish one step while the network is gone: it is kept and arrives, or it waits and is done later."""
    at(page, work)
    goes = away_of(step)
    if goes is Away.GOES_ON_WHEN_OVER:
        expect(page.locator("#step .dwell.is-over")).to_be_visible()
    page.context.set_offline(True)
    if goes is Away.WAITS:
        typed_without_network(page, step)
        page.context.set_offline(False)
        work.do(step)
        return
    press(page, step.kind)
    expect(page.locator("#kept")).to_contain_text("1 finished step waits")
    page.context.set_offline(False)
    expect(page.locator("#step:not([data-ahead])")).to_be_visible()
    expect(page.locator("#kept")).to_be_hidden()


def test_the_network_is_cut_at_each_step(page: Page, work: Hands, times: Callable[[int, int], int]) -> None:
    """A maker's step of each way to finish one, in and out of the hood; with --long every step."""
    seen: Counter[tuple[str, bool]] = Counter()
    while (step := work.step) and work.preparation.state == "in-work":
        way = (row_of(step).takes, row_of(step).is_in_hood)
        seen[way] += 1
        if row_of(step).actor is Actor.MAKER and seen[way] <= times(1, 99):
            cut(page, work, step)
        else:
            work.do(step)
    makers = [one.kind for one in work.preparation.steps.all() if row_of(one).actor is Actor.MAKER]
    assert finished(work) == makers, "every step once, in order"
