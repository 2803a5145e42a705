"""What the benchmark of fifty writers measures: our acts, a bare view, a bare insert and commit."""

from __future__ import annotations

import io
import os
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterable
from functools import cached_property

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import Client

import cast as stage
from cast import Cast, Hands, cast, order
from checklists.models import Entry, Person
from compounding.reckoning.worksheet import Worksheet, from_plain
from tests.benchmarks import bare_rows
from tests.site.crew import Crew
from tests.site.serving import Device, Server, Wire

ORDERED = (
    ("ondansetron-nacl-50", "8 mg"),
    ("ketorolac-syringe", "30 mg"),
    ("vancomycin-nacl-250", "1100 mg"),
)
EACH = 4


class Over(Exception):
    """The time is over."""


def device(server: Server, person: Person) -> Device:
    """Return a device with a session of that person's, and a token of its own."""
    browser = Client()
    browser.force_login(person)
    name = settings.SESSION_COOKIE_NAME
    return Device(server, person, {name: browser.cookies[name].value, "csrftoken": "a" * 32})


class Timed(Wire):
    """A wire that keeps how long each act took, and stops when the time is over."""

    def __init__(self, server: Server, seconds: float) -> None:
        super().__init__(server)
        self.took: list[tuple[str, float]] = []
        self.ends = time.monotonic() + seconds

    def device(self, person: Person) -> Device:
        """Return the person's device at this writer."""
        which = threading.get_ident(), person.pk
        if which not in self.devices:
            self.devices[which] = device(self.server, person)
        return self.devices[which]

    def act(self, name: str, where: list[object], person: Person, key: str, **fields: str) -> str:
        """Send one act, and keep how long its answer took."""
        self.device(person)
        if time.monotonic() > self.ends:
            raise Over
        begun = time.perf_counter()
        location = super().act(name, where, person, key, **fields)
        self.took.append((name, time.perf_counter() - begun))
        return location


class Quick(Hands):
    """Hands that know the worksheet by heart: the time of the machine belongs to the server."""

    @cached_property
    def worksheet(self) -> Worksheet:  # type: ignore[override]
        """Return the worksheet as it was frozen."""
        return from_plain(self.preparation.worksheet)


def ours(server: Server, crew: Crew, seconds: float) -> list[tuple[str, float]]:
    """Let the crew work for so long; return how long each act took."""
    asked = [[order(*ORDERED[(n + turn) % 3]) for turn in range(EACH)] for n in range(crew.size)]
    wire = Timed(server, seconds)
    before, stage.run = stage.run, wire

    def make(people: Cast, number: int) -> None:
        try:
            for one in asked[number]:
                Quick(people, one, people["technician"], people["pharmacist"]).open().to_release()
        except Over:
            return
        raise AssertionError("the orders did not last")

    crew.work(make)
    stage.run = before
    wire.close()
    kept = Counter(Entry.objects.exclude(key__contains="/").values_list("preparation__code", "key"))
    assert kept == Counter(wire.acknowledged), "an act is missing, or is there twice"
    assert wire.sent_again == 0, "somebody was not answered"
    said = io.StringIO()
    call_command("verify_records", stdout=said)
    print(f"{len(wire.acknowledged)} acts acknowledged, each in the record once; {said.getvalue().strip()}")
    return wire.took


def on_bare_view(server: Server, crew: Crew, seconds: float) -> list[tuple[str, float]]:
    """Let the same people send forms to the bare view."""
    took: list[tuple[str, float]] = []
    ends = time.monotonic() + seconds

    def write(people: Cast, _number: int) -> None:
        tablet = device(server, people["technician"])
        while time.monotonic() < ends:
            begun = time.perf_counter()
            status, _where, _body = tablet.post("/bare/", {"key": "x"})
            took.append(("bare view", time.perf_counter() - begun))
            assert status == 200, status
        assert tablet.line
        tablet.line.close()

    crew.work(write)
    return took


def on_the_store(crew: Crew, seconds: float) -> list[tuple[str, float]]:
    """Let so many threads insert and commit, without any server."""
    took: list[tuple[str, float]] = []
    ends = time.monotonic() + seconds

    def write(_people: Cast, _number: int) -> None:
        while time.monotonic() < ends:
            begun = time.perf_counter()
            bare_rows.insert()
            took.append(("insert", time.perf_counter() - begun))

    crew.work(write)
    return took


def told(what: str, took: Iterable[tuple[str, float]], seconds: float) -> float:
    """Print the quantiles, in ms; return the 95th."""
    times = sorted(one for _name, one in took)
    p50, p95, p99 = (times[min(len(times) - 1, int(len(times) * part))] * 1000 for part in (0.5, 0.95, 0.99))
    print(
        f"{what:<34} {len(times):>6} in {seconds:.0f} s   p50 {p50:7.1f}   p95 {p95:7.1f}   p99 {p99:7.1f} ms"
    )
    return p95


def measured(writers: int, seconds: float) -> None:
    """Run all of it, one after the other, on one database."""
    house = cast()
    crew, few = Crew(house, writers), Crew.__new__(Crew)
    few.house, few.size, few.hands = house, 1, crew.hands[:1]
    with connection.cursor() as cursor:
        number = "SERIAL" if connection.vendor == "postgresql" else "INTEGER"
        cursor.execute(f"CREATE TABLE bare_rows (id {number} PRIMARY KEY, text TEXT)")
    load = os.getloadavg()[0]
    print(f"{connection.vendor}, {writers} writers, {os.cpu_count()} cores, load {load:.1f} before the run")
    alone = told("insert and commit, one writer", on_the_store(few, 3), 3)
    floor = told(
        "bare view, all writers", _served(lambda one: on_bare_view(one, crew, seconds), BARE), seconds
    )
    took = _served(lambda one: ours(one, crew, seconds), "tests.site.served")
    most = told("our acts, all writers", took, seconds)
    for name in sorted({name for name, _time in took}):
        told(f"  {name}", [one for one in took if one[0] == name], seconds)
    print(f"p95: ours {most / floor:.1f} x the bare view's, {most / alone:.0f} x a bare commit by one writer")


BARE = "tests.benchmarks.bare_rows_settings"


def _served(does: Callable[[Server], list[tuple[str, float]]], how: str) -> list[tuple[str, float]]:
    server = Server(settings.DATA, how).start()
    try:
        _warm(server)
        return does(server)
    finally:
        server.stop()


def _warm(server: Server) -> None:
    """Let every process load what it needs: the first request of each is nobody's measure."""
    somebody = Person.objects.filter(role="technician").first()
    assert somebody
    for _ in range(24):
        one = device(server, somebody)
        one.get("/make/")
        if one.line:
            one.line.close()
