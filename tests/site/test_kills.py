"""The server is killed again and again amid the work: what was acknowledged is there, once, and verifies.

Source: shared design 5 (SIGKILL in mid-run). SQLite with synchronous=FULL, as the site has it, or PostgreSQL.
"""

from __future__ import annotations

import io
import random
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection

import cast as stage
from cast import Cast, Hands, cast, order
from checklists.models import Entry, Label, Preparation
from tests.site.crew import Crew
from tests.site.serving import Server, Wire

pytestmark = pytest.mark.django_db(transaction=True)
MADE = (
    ("vancomycin-nacl-250", "1100 mg"),
    ("ketorolac-syringe", "30 mg"),
    ("ondansetron-nacl-50", "8 mg"),
    ("aminophylline-d5w-100", "350 mg"),
    ("potassium-nacl-1000", "20 mEq"),
)


@pytest.fixture
def everybody(transactional_db: None) -> Cast:
    return cast()


@pytest.fixture
def server(transactional_db: None, tmp_path: Path) -> Iterator[Server]:
    running = Server(tmp_path).start()
    yield running
    running.stop()


def killed_now_and_then(server: Server, wire: Wire, done: threading.Event, every: int) -> None:
    """Kill the server after so many answers more or less, at any instant; start it again."""
    chance = random.Random(50)
    while True:
        until = len(wire.acknowledged) + chance.randint(1, 2 * every)
        while len(wire.acknowledged) < until:
            if done.wait(0.002):
                return
        time.sleep(chance.random() * 0.05)
        server.kill()
        server.start()


def test_what_was_acknowledged_survives_a_server_killed_amid_the_work(
    everybody: Cast, server: Server, monkeypatch: pytest.MonkeyPatch, times: Callable[[int, int], int]
) -> None:
    each, kills = times(1, 10), times(3, 50)
    crew, wire, done = Crew(everybody, 2), Wire(server), threading.Event()
    monkeypatch.setattr(stage, "run", wire)
    asked = [[order(*MADE[(number + turn) % len(MADE)]) for turn in range(each)] for number in range(2)]

    def make(people: Cast, number: int) -> None:
        for one in asked[number]:
            Hands(people, one, people["technician"], people["pharmacist"]).open().to_release()

    killer = threading.Thread(target=killed_now_and_then, args=[server, wire, done, times(14, 10)])
    begun = time.monotonic()
    killer.start()
    try:
        crew.work(make)
    finally:
        done.set()
        killer.join()
        wire.close()
    assert server.kills >= kills
    print(
        f"\n{connection.vendor}: {server.kills} kills, {2 * each} made in {len(wire.acknowledged)} acts, "
        f"{wire.sent_again} sendings without an answer, {time.monotonic() - begun:.0f} s"
    )
    nothing_is_missing_or_doubled(wire, 2 * each)


def nothing_is_missing_or_doubled(wire: Wire, made: int) -> None:
    """Every act acknowledged has its one entry, no other act has any, and the record verifies."""
    kept = Counter(Entry.objects.exclude(key__contains="/").values_list("preparation__code", "key"))
    assert kept == Counter(wire.acknowledged)
    assert Counter(Preparation.objects.values_list("state", flat=True)) == {"released": made}
    assert Label.objects.count() == made
    said = io.StringIO()
    call_command("verify_records", stdout=said)
    assert said.getvalue() == f"{made} records verified, every entry as it was written.\n"
