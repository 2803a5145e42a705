"""The drill: a backup taken while others work, restored elsewhere, verified, and the work finished there.

Source: the issue. What was acknowledged before the backup began is in it; a preparation in progress goes on.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

import cast as stage
from cast import Cast, Hands, cast, order
from checklists.models import Preparation
from tests.site.crew import Crew
from tests.site.serving import Server, Wire

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        os.environ.get("DATABASE_URL", "").startswith("postgres"), reason="PostgreSQL has tools of its own"
    ),
]
ROOT = Path(__file__).resolve().parents[2]
#: Finishes the preparation named, in the restored installation, as its people would.
GO_ON = """
import sys
import django
django.setup()
from cast import Cast, Hands
from checklists.models import Hood, Person, Preparation
found = Preparation.objects.get(code=sys.argv[1])
people = {"pharmacist": Person.objects.get(name="Ilse Varga"), "technician": found.technician}
cast = Cast(people, *(Hood.objects.get(name=name) for name in sys.argv[2:4]))
work = Hands(cast, found.order, found.technician, people["pharmacist"], code=found.code)
print(work.step.kind, work.to_release().preparation.state)
"""


@pytest.fixture
def server(transactional_db: None, tmp_path: Path) -> Iterator[Server]:
    running = Server(tmp_path).start()
    yield running
    running.stop()


def elsewhere(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run a command for another installation, whose data folder that is."""
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    own = {
        "COUNTERDRAW_DATA": str(folder),
        "COUNTERDRAW_PHOTOGRAPHS": str(folder / "photographs"),
        "DJANGO_SETTINGS_MODULE": "tests.site.served",
        "PYTHONPATH": f"{ROOT}:{ROOT / 'tests'}",
    }
    return subprocess.run(
        [sys.executable, *words], cwd=ROOT, env=environment | own, capture_output=True, text=True, check=False
    )


LIST = """
import django
django.setup()
from checklists.models import Entry
for code, key in Entry.objects.values_list("preparation__code", "key"):
    print(code, key)
"""


def saved_when(amid: threading.Event, wire: Wire, server: Server, file: Path) -> list[tuple[str, str]]:
    """Back up as soon as the work has come so far; return what was acknowledged by then."""
    assert amid.wait(300)
    before = list(wire.acknowledged)
    words = [sys.executable, "manage.py", "backup", str(file)]
    subprocess.run(words, cwd=ROOT, env=server.environment(), capture_output=True, check=False)
    return before


def amid_the_work(crew: Crew, wire: Wire, server: Server, file: Path) -> list[tuple[str, str]]:
    """Let the crew work, and back up meanwhile; return what was acknowledged before the backup began.

    The first of the crew stands at a draw until the backup is written: that work is in progress in it.
    """
    asked = [order("vancomycin-nacl-250", "1100 mg"), order("ondansetron-nacl-50", "8 mg")]
    amid, saved, before = threading.Event(), threading.Event(), []

    def make(people: Cast, number: int) -> None:
        work = Hands(people, asked[number], people["technician"], people["pharmacist"]).open()
        if number == 0:
            work.to("draw")
            amid.set()
            assert saved.wait(300)
        work.to_release()

    def back_up() -> None:
        before.extend(saved_when(amid, wire, server, file))
        saved.set()

    saver = threading.Thread(target=back_up)
    saver.start()
    try:
        crew.work(make)
    finally:
        saver.join()
        wire.close()
    return before


def test_a_backup_taken_amid_the_work_is_restored_and_the_work_goes_on_there(
    transactional_db: None, server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    crew, wire, other = Crew(cast(), 2), Wire(server), tmp_path / "other"
    monkeypatch.setattr(stage, "run", wire)
    before = amid_the_work(crew, wire, server, tmp_path / "amid.tar")
    assert before
    told = elsewhere(other, "manage.py", "restore", str(tmp_path / "amid.tar"))
    assert told.returncode == 0, told.stderr
    assert re.search(r"^\d records verified, every entry as it was written.$", told.stdout, re.MULTILINE)
    kept = elsewhere(other, "-c", LIST).stdout.splitlines()
    assert {f"{code} {key}" for code, key in before} <= set(kept), "something acknowledged is not in it"
    people = crew.hands[0]
    waiting = Preparation.objects.get(technician=people["technician"])
    gone_on = elsewhere(other, "-c", GO_ON, waiting.code, people.hood.name, people.vertical.name)
    assert gone_on.stdout == "draw released\n", gone_on.stderr
    assert elsewhere(other, "manage.py", "verify_records").returncode == 0
