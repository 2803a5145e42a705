"""From the tap to the next step painted, the tablet's processor slowed to a quarter; and what it loads.

    python3 -m tests.benchmarks.painting

The program's own server, headless Chromium at 1280×800. Painted is the second frame after the new step has
come in. The wire is what Chromium counts, headers with it; the second visit comes with a warm cache.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
SLOWER = 4
PAINTED = """() => new Promise((done) => {
  const began = performance.now();
  document.addEventListener("htmx:afterSettle", () => requestAnimationFrame(() =>
    requestAnimationFrame(() => done(performance.now() - began))), { once: true });
  document.querySelector("#step [data-do]").click();
})"""
FIT = "#step:not([data-fresh]) [data-do]:enabled"


def main() -> None:
    with tempfile.TemporaryDirectory() as data:
        os.environ.setdefault("COUNTERDRAW_DATA", data)
        os.environ["DJANGO_SETTINGS_MODULE"] = "tests.benchmarks.floors"
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
        sys.path.insert(0, str(ROOT / "tests"))
        import django
        from django.core.management import call_command
        from django.test.utils import setup_test_environment

        from tests.benchmarks.steps import serve

        django.setup()
        setup_test_environment()
        call_command("migrate", verbosity=0)
        call_command("collectstatic", verbosity=0, interactive=False)
        port, server = serve()
        try:
            measure(port)
        finally:
            server.terminate()
            server.wait(timeout=20)


def measure(port: int) -> None:
    from playwright.sync_api import sync_playwright

    from cast import cast, hands, order

    work = hands(cast(), order("ondansetron-nacl-50", "8 mg"))
    with sync_playwright() as playwright:
        found = os.environ.get("CHROMIUM") or shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        context = browser.new_context(viewport={"width": 1280, "height": 800}, service_workers="block")
        context.add_cookies([cookie_of(work.technician, port)])
        page = context.new_page()
        wire(page, f"http://127.0.0.1:{port}/make/{work.code}/")
        taps(page, context, work)
        browser.close()


def cookie_of(person: Any, port: int) -> Any:
    from django.test import Client

    client = Client()
    client.force_login(person)
    value = client.cookies["counterdraw"].value
    return {"name": "counterdraw", "value": value, "url": f"http://127.0.0.1:{port}"}


def wire(page: Any, address: str) -> None:
    """Load the step twice; print what came over the wire."""
    from tests.benchmarks.figures import head, machine, row

    head(f"A step's screen on the tablet, processor {SLOWER} × slower; {machine()}")
    counted: list[float] = []
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.on("Network.loadingFinished", lambda event: counted.append(event["encodedDataLength"]))
    for what, most in (("first visit", 60), ("later visit", 12)):
        counted.clear()
        page.goto(address)
        page.wait_for_load_state("networkidle")
        size = sum(counted) / 1000
        row(f"step screen over the wire, {what}", f"{size:.1f} kB", "", f"≤ {most} kB", size <= most)


def taps(page: Any, context: Any, work: Any) -> None:
    """Tap through every step that a tap finishes; the others are done beside."""
    from tests.benchmarks.figures import middle, row

    session = context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    taken: list[float] = []
    while (step := work.step) and step.kind != "final_check":
        page.goto(f"{page.url.split('/make/')[0]}/make/{work.code}/")
        if step.kind not in TAPPED:
            work.do(step)
            continue
        page.wait_for_selector(FIT)
        taken.append(page.evaluate(PAINTED))
    far = sorted(taken)[int(len(taken) * 0.95)]
    figure = f"median {middle(taken):.0f} ms, p95 {far:.0f} ms of {len(taken)}"
    row("tap to next step painted", figure, "100 ms", "p95 ≤ 100 ms", far <= 100)


#: Kinds whose bar is simply pressed.
TAPPED = (
    "read_worksheet", "gather_supplies", "put_on_covers", "put_on_gloves", "arrange", "change_needle", "add",
    "mix", "look", "dispose", "hand_over",
)  # fmt: skip


if __name__ == "__main__":
    main()
