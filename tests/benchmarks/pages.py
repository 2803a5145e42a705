"""The supervisor's pages over a long history, at several sizes; each page beside its floor in one run.

    python3 -m tests.benchmarks.pages [--steps 30000 300000 3000000] [--keep FOLDER]

Each size gets an invented history in a folder of its own (`--keep` uses those that are there already, and
leaves them). 3 million steps take about 4 GB and half an hour to write. Judged is the processor's time.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
#: Steps of a preparation of the demo, and preparations of a day, by which a history is made.
STEPS_EACH, A_DAY = 31.9, 100
MEASURE = "--measure"


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--steps", type=int, nargs="+", default=[30_000, 300_000, 3_000_000])
    asked.add_argument("--keep", type=Path)
    asked.add_argument(MEASURE, action="store_true")
    told = asked.parse_args()
    if told.measure:
        measure()
        return
    with tempfile.TemporaryDirectory() as folder:
        for steps in told.steps:
            data = (told.keep or Path(folder)) / str(steps)
            make(data, steps)
            environment = {**os.environ, "COUNTERDRAW_DATA": str(data)}
            subprocess.run(
                [sys.executable, "-m", __spec__.name, MEASURE], env=environment, cwd=ROOT, check=True
            )


def make(data: Path, steps: int) -> None:
    """Invent a history of so many steps, unless there is one."""
    if (data / "counterdraw.sqlite3").exists():
        return
    count = round(steps / STEPS_EACH)
    given = {**os.environ, "COUNTERDRAW_DATA": str(data)}
    for words in (
        ("migrate", "-v0"),
        ("seed_demo",),
        ("make_history", "--preparations", str(count), "--days", str(max(9, count // A_DAY))),
    ):
        subprocess.run(
            [sys.executable, "manage.py", *words], env=given, cwd=ROOT, check=True, stdout=subprocess.DEVNULL
        )


#: Each page by its address, with how many milliseconds it may take at most.
PAGES = {
    "Now, with work in the hoods": ("/now/", 50),
    "record of one preparation": ("/paper/{code}/record/", 100),
    "its times and its timeline": ("/finished/{code}/", 100),
    "latest times as a control chart": ("/timings/latest/?by=kind&one=show&what=waited", 300),
    "what stopped the work": ("/timings/reasons/", 300),
    "a technician's list": ("/make/", 300),
}


def measure() -> None:
    """Print the table of this history."""
    from tests.benchmarks.figures import head, machine, row, timed

    clients = ready()
    from checklists.models import Preparation, Step

    head(f"{Step.objects.count():,} steps of {Preparation.objects.count():,} preparations; {machine()}")
    told_timings(clients["supervisor"])
    code = Preparation.objects.filter(state="released").order_by("-ended_at")[0].code
    for what, (address, most) in PAGES.items():
        who = clients["technician" if address == "/make/" else "supervisor"]
        took = timed(partial(who.get, address.format(code=code)), 10)
        row(what, str(took), "", f"≤ {most} ms", took.worked <= most)
    told_phone(clients["pharmacist"])


def ready() -> dict[str, Any]:
    """Set the program up in this process; return the browser of one person of each role."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.benchmarks.floors"
    import django

    django.setup()
    from django.conf import settings
    from django.test import Client
    from django.test.utils import setup_test_environment

    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    settings.STORAGES["staticfiles"] = plain
    setup_test_environment()
    from checklists import run
    from checklists.models import Person

    run.keep_days()
    begin()
    clients = {role: Client() for role in ("supervisor", "pharmacist", "technician")}
    for role, client in clients.items():
        client.force_login(Person.objects.filter(role=role).first())
    clients["supervisor"].get("/about/")  # the templates of the skeleton are read once a process
    return clients


def told_timings(desk: Any) -> None:
    from tests.benchmarks.figures import row, side_by_side, timed

    first = timed(partial(desk.get, "/timings/"), 1)
    row("Timings, first view in a process", str(first), "", "≤ 300 ms", first.worked <= 300)
    taken = side_by_side({"page": partial(desk.get, "/timings/"), "floor": aggregate}, 20)
    told_beside("Timings, later views", taken, "its query", 2)


def told_phone(phone: Any) -> None:
    from tests.benchmarks.figures import side_by_side

    etag = phone.get("/check/").context["screen"].etag
    asked = {"HTTP_IF_NONE_MATCH": etag, "HTTP_HX_REQUEST": "true"}
    acts = {
        "page": partial(phone.get, "/check/rows/", **asked),
        "floor": partial(phone.get, "/bare/304/", **asked),
    }
    told_beside("a phone waiting, nothing new", side_by_side(acts, 200), "a bare 304", 1.5)


def told_beside(what: str, taken: dict[str, Any], floor: str, most: float) -> None:
    from tests.benchmarks.figures import row

    ratio = taken["page"].worked / taken["floor"].worked
    row(what, str(taken["page"]), f"{floor} {taken['floor']}, {ratio:.2f} ×", f"≤ {most} ×", ratio <= most)


def begin() -> None:
    """Have two preparations under way in two hoods, unless there are some."""
    sys.path.insert(0, str(ROOT / "tests"))
    from django.utils import timezone

    import cast
    from checklists.models import Hood, Person, Preparation

    if Preparation.objects.filter(state="in-work").exists():
        return
    cast.key = lambda: os.urandom(8).hex()
    known = {badge: who for who, badge in cast.BADGES.items()}
    people = {known[one.badge]: one for one in Person.objects.filter(badge__in=known)}
    hoods = list(Hood.objects.order_by("pk"))
    Hood.objects.update(running_since=timezone.now() - cast.timedelta(hours=3))
    for number, who in enumerate(("technician", "second technician")):
        placed = cast.Cast(people, hoods[number], hoods[-1])
        cast.Hands(placed, cast.order(), people[who], people["pharmacist"]).open().to("draw")


def aggregate() -> None:
    """Read what the page reads: two periods of tallies, each row decoded."""
    from datetime import timedelta

    from django.utils import timezone

    from checklists import daybook
    from checklists.daybook import By

    today = timezone.localdate()
    for first, after in ((27, -1), (55, 27)):
        daybook.period(By.KIND, today - timedelta(days=first), today - timedelta(days=after))


if __name__ == "__main__":
    main()
