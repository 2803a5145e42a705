"""Three devices press at the same instant, again and again: each is done or told, and the invariants hold.

Real transactions in real threads. That the run finds a missing lock is shown by taking it out: on SQLite the
transaction that takes the writer's place when it begins, on PostgreSQL the lock of the row.
"""

from __future__ import annotations

import random
import threading
from collections import Counter
from collections.abc import Callable, Iterator

import pytest
from django.db import connection
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.db.models import QuerySet

from cast import PIN, cast, key
from checklists import run
from checklists.models import Person
from compounding.formulary import codes
from compounding.reckoning.refusals import Refusal
from tests.properties import invariants
from tests.properties.floor import ORDERS, Floor, Press
from tests.site.crew import Crew

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def floors(transactional_db: None) -> Iterator[Iterator[Floor]]:
    """Floors one after the other, each with technicians and hoods that nobody else is at."""
    house, opened = cast(), []

    def one_after_the_other() -> Iterator[Floor]:
        crew = Crew(house, 40)
        for number, people in enumerate(crew.hands):
            second = Person.objects.create_user(
                badge=codes.make("B", 9000 + number), name=f"Second {number}", role="technician", pin=PIN
            )
            people.people["second technician"] = second
            kinds = sorted(ORDERS)
            opened.append(Floor(people, (kinds[number % len(kinds)], kinds[(number + 3) % len(kinds)])))
            yield opened[-1]

    yield one_after_the_other()
    for floor in reversed(opened):
        floor.leave()


def at_once(presses: list[Press]) -> list[Press]:
    """Press all at the same instant; return what was acknowledged. Anything but a refusal in words fails."""
    ready, told = threading.Barrier(len(presses)), []

    def do(press: Press) -> None:
        try:
            ready.wait(timeout=60)
            press[0](**press[1])
            told.append((press, None))
        except Exception as trouble:
            told.append((press, trouble))
        finally:
            connection.close()

    threads = [threading.Thread(target=do, args=[one]) for one in presses]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    faults = [repr(trouble) for _press, trouble in told if trouble and not isinstance(trouble, Refusal)]
    assert faults == [], "neither done nor refused in words"
    return [press for press, trouble in told if trouble is None]


def pressed(floor: Floor, number: int, chance: random.Random) -> list[Press]:
    """Return what three people press on the same page, one of them twice by two devices."""
    work = floor.work(number)
    if work is None:
        opening = run.open_preparation, {"number": floor.orders[number].number}
        return [
            (opening[0], {**opening[1], "person": floor.person(who), "key": key()})
            for who in ("technician", "second technician", "technician")
        ]
    place = work.step.place if work.step else 0
    honest = floor.finishing(work, place, "at", "own")
    other = (
        honest,
        floor.checking(work, place, "at"),
        floor.setting_aside(work, chance.choice(("pause", "resume", "abandon", "print_labels"))),
        [(run.release, {"code": work.code, "pin": PIN})],
    )
    chosen = [honest[0], honest[0], chance.choice(chance.choice(other))]
    people = (work.technician, work.technician, floor.person(chance.choice(("pharmacist", "technician"))))
    return [
        (act, {**told, "person": person, "key": key()})
        for (act, told), person in zip(chosen, people, strict=True)
    ]


def press_away(floors: Iterator[Floor], rounds: int) -> Counter[str]:
    """Press so often, with honest steps in between, and look after every time."""
    chance, tally, floor, left = random.Random(3), Counter(), next(floors), 40
    known: invariants.Entries = {}
    for turn in range(rounds):
        if not left:
            floor, left, known = next(floors), 40, {}
        left -= 1
        number = turn % 2
        acknowledged = at_once(pressed(floor, number, chance))
        tally["acts"] += 3
        tally["acknowledged"] += len(acknowledged)
        floor.done.extend(acknowledged)
        floor.go_on(number, "pharmacist", chance.randrange(1, 6))
        now = invariants.entries(floor.preparations())
        invariants.history_only_grew(known, now)
        known = now
        invariants.hold(floor.preparations())
        invariants.acknowledged_once(floor.preparations(), floor.done)
        if left % 8 == 0:
            invariants.verifies(floor.preparations())
            invariants.hold_for_the_house()
    return tally


def test_whoever_presses_at_the_same_instant_is_served_or_told(
    floors: Iterator[Floor], times: Callable[[int, int], int]
) -> None:
    tally = press_away(floors, times(20, 1000))
    assert tally["acknowledged"] > tally["acts"] / 10
    print(f"\n{connection.vendor}: {dict(tally)}")


def test_the_lock_taken_out_of_the_code_is_found(
    floors: Iterator[Floor], monkeypatch: pytest.MonkeyPatch
) -> None:
    deferred = lambda self: self.cursor().execute("BEGIN")  # noqa: E731
    monkeypatch.setattr(DatabaseWrapper, "_start_transaction_under_autocommit", deferred)
    monkeypatch.setattr(QuerySet, "select_for_update", lambda self, **_how: self)
    with pytest.raises(AssertionError, match=r"neither done nor refused|twice|history changed|differ"):
        press_away(floors, 300)
