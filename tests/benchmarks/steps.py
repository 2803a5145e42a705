"""Finishing a step beside a bare view, over the network, on one server and database, at 1 and 10 clients.

    python3 -m tests.benchmarks.steps       on SQLite, or on the empty database of DATABASE_URL

Each client posts the steps of a preparation of its own, and after each one a bare insert: both wait for the
same disk and the same load. Checks are done beside, by other hands.
"""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from urllib.parse import urlencode

ROOT = Path(__file__).resolve().parents[2]
WORKERS, THREADS = 2, 8


def main() -> None:
    clients = [int(word) for word in sys.argv[1:]] or [1, 10]
    with tempfile.TemporaryDirectory() as data:
        os.environ.setdefault("COUNTERDRAW_DATA", data)
        os.environ["DJANGO_SETTINGS_MODULE"] = "tests.benchmarks.floors"
        sys.path.insert(0, str(ROOT / "tests"))
        import django
        from django.core.management import call_command
        from django.test.utils import setup_test_environment

        django.setup()
        setup_test_environment()
        call_command("migrate", verbosity=0)
        call_command("collectstatic", verbosity=0, interactive=False)
        port, server = serve()
        try:
            measure(port, clients)
        finally:
            server.terminate()
            server.wait(timeout=20)


def serve() -> tuple[int, subprocess.Popen[bytes]]:
    """Start the program's own server on a free port, and wait until it answers."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["-m", "gunicorn", "--bind", f"127.0.0.1:{port}", "--workers", str(WORKERS)]
    words += [
        "--threads",
        str(THREADS),
        "--no-control-socket",
        "--log-level",
        "error",
        "checklists.site.wsgi",
    ]
    server = subprocess.Popen([sys.executable, *words], cwd=ROOT)
    for _ in range(200):
        try:
            asked = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            asked.request("GET", "/about/")
            asked.getresponse().read()
            return port, server
        except OSError:
            time.sleep(0.2)
    raise SystemExit("the server does not answer")


def measure(port: int, clients: list[int]) -> None:
    from django.db import connection

    from cast import cast
    from tests.benchmarks.figures import head, machine, middle, row, tail

    everybody = cast()
    head(f"Steps on {connection.vendor}, {WORKERS} workers of {THREADS} threads; {machine()}")
    for count in clients:
        taken = together(port, everybody, count)
        step, bare = taken["step"], taken["bare"]
        ratio, far = middle(step) / middle(bare), tail(step) / tail(bare)
        floor = f"bare {middle(bare):.1f} ms, p99 {tail(bare):.0f} ms; {ratio:.2f} ×, p99 {far:.2f} ×"
        row(
            f"finishing a step, {count} client{'s' if count > 1 else ''}, {len(step)} steps",
            f"median {middle(step):.1f} ms, p99 {tail(step):.0f} ms", floor, "≤ 2 ×, p99 ≤ 3 ×",
            ratio <= 2 and far <= 3,
        )  # fmt: skip


def together(port: int, everybody, count: int) -> dict[str, list[float]]:
    """Let so many clients each carry one preparation to its hand-over; return all times in milliseconds."""
    from cast import order
    from tests.checklists.walks import beside

    taken: dict[str, list[float]] = {"step": [], "bare": []}
    works = [beside(everybody, order("ondansetron-nacl-50", "8 mg")) for _ in range(count)]
    failed: list[BaseException] = []

    def carry(work) -> None:
        try:
            Tablet(port, work, taken).carry()
        except BaseException as trouble:
            failed.append(trouble)

    threads = [threading.Thread(target=carry, args=[work]) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if failed:
        raise failed[0]
    return taken


class Tablet:
    """One tablet: posts every step of its technician, and a bare insert after each."""

    def __init__(self, port: int, work, taken: dict[str, list[float]]) -> None:
        from django.test import Client

        browser = Client()
        browser.force_login(work.technician)
        browser.get("/make/")
        self.token = browser.cookies["csrftoken"]
        self.cookies = "; ".join(f"{name}={one.value}" for name, one in browser.cookies.items())
        self.to, self.work, self.taken = http.client.HTTPConnection("127.0.0.1", port), work, taken
        work.finish = self.finish

    def carry(self) -> None:
        """Go up to the hand-over; checks are done by other hands, beside the server."""
        from django.db import connection

        while (step := self.work.step) and step.kind != "final_check":
            self.work.do(step)
        connection.close()

    def finish(self, step, **given: str) -> None:
        where = f"/make/{self.work.code}/finish/{step.place}/"
        self.post("step", where, {"key": os.urandom(8).hex(), **given})
        self.post("bare", "/bare/insert/", {"about": step.kind})

    def post(self, name: str, where: str, sent: dict[str, str]) -> None:
        headers = {
            "Cookie": self.cookies, "X-CSRFToken": self.token.value, "HX-Request": "true",
            "Content-Type": "application/x-www-form-urlencoded",
        }  # fmt: skip
        self.to.close()  # one left idle would have been closed from the other side
        self.to.connect()
        began = time.perf_counter()
        self.to.request("POST", where, urlencode(sent), headers)
        answer = self.to.getresponse()
        said = answer.read()
        self.taken[name].append((time.perf_counter() - began) * 1000)
        if answer.status != 200:
            raise SystemExit(f"{where}: {answer.status} {said[:300]!r}")


if __name__ == "__main__":
    main()
