"""Two at the same instant: one wins, the other is told; nothing is lost, doubled or "locked".

Real transactions in real threads, each with a connection of its own.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from django.db import connection

from cast import Cast, Hands, cast, hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.models import Preparation
from checklists.refusals import AlreadyAtWork, AlreadyBeingMade, HoodInUse, NotPaused, OutOfOrder
from compounding.reckoning.refusals import Refusal

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def everybody(transactional_db: None) -> Cast:
    return cast()


def at_once(*acts: Callable[[], object]) -> list[object]:
    """Do all acts at the same instant, each in a thread; return what each gave, refusals and faults too."""
    ready, given = threading.Barrier(len(acts)), [None] * len(acts)

    def do(index: int, act: Callable[[], object]) -> None:
        try:
            ready.wait(timeout=20)
            given[index] = act()
        except Exception as told:
            given[index] = told
        finally:
            connection.close()

    threads = [threading.Thread(target=do, args=each) for each in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return given


def parted(given: list[object]) -> tuple[list[Preparation], list[Refusal]]:
    """Return what was done and what was refused; anything else, such as a locked database, fails the test."""
    done = [one for one in given if isinstance(one, Preparation)]
    refused = [one for one in given if isinstance(one, Refusal)]
    assert len(done) + len(refused) == len(given), given
    return done, refused


def test_of_twenty_who_finish_the_same_step_exactly_one_wins(everybody: Cast) -> None:
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg"))
    place, count = work.step.place, work.preparation.entries.count()

    def finish() -> object:
        return run.finish_step(code=work.code, person=work.technician, key=key(), place=place, given={})

    done, refused = parted(at_once(*[finish] * 20))
    assert len(done) == 1
    assert {type(refusal) for refusal in refused} == {OutOfOrder}
    assert "This step is not the one the work has come to" in refused[0].sentence
    assert work.preparation.entries.count() == count + 1
    assert first_fault(work.preparation) is None


def test_twenty_sendings_of_one_key_are_one_act_and_all_are_answered(everybody: Cast) -> None:
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg"))
    place, once, count = work.step.place, key(), work.preparation.entries.count()

    def finish() -> object:
        return run.finish_step(code=work.code, person=work.technician, key=once, place=place, given={})

    done, refused = parted(at_once(*[finish] * 20))
    assert (len(done), refused) == (20, [])
    assert work.preparation.entries.count() == count + 1
    assert first_fault(work.preparation) is None


def test_a_technician_who_opens_two_at_once_gets_one_and_is_told_which(everybody: Cast) -> None:
    numbers = [order("ondansetron-nacl-50", "8 mg").number, order("ketorolac-syringe", "30 mg").number]
    person = everybody["technician"]

    def opening(number: str) -> Callable[[], object]:
        return lambda: run.open_preparation(number=number, person=person, key=key())

    done, refused = parted(at_once(*map(opening, numbers)))
    assert len(done) == 1
    assert isinstance(refused[0], AlreadyAtWork)
    assert f"You have {done[0].worksheet['title']} open" in refused[0].sentence
    assert Preparation.objects.count() == 1


def test_two_technicians_who_open_one_order_at_once_make_it_once(everybody: Cast) -> None:
    number = order("ondansetron-nacl-50", "8 mg").number

    def opening(who: str) -> Callable[[], object]:
        return lambda: run.open_preparation(number=number, person=everybody[who], key=key())

    done, refused = parted(at_once(opening("technician"), opening("second technician")))
    assert len(done) == 1
    assert isinstance(refused[0], AlreadyBeingMade)
    assert f"by {done[0].technician.name}" in refused[0].sentence
    assert Preparation.objects.count() == 1


def test_of_two_who_scan_one_hood_at_once_one_gets_it_and_the_other_is_told(everybody: Cast) -> None:
    works = [
        Hands(everybody, order("ondansetron-nacl-50", "8 mg"), everybody[who], everybody["pharmacist"])
        .open()
        .to("identify_hood")
        for who in ("technician", "second technician")
    ]

    def scanning(work: Hands) -> Callable[[], object]:
        place, given = work.step.place, {"scan": everybody.hood.code}
        return lambda: run.finish_step(
            code=work.code, person=work.technician, key=key(), place=place, given=given
        )

    done, refused = parted(at_once(*map(scanning, works)))
    assert len(done) == 1
    assert isinstance(refused[0], HoodInUse)
    assert f"of {done[0].technician.name}" in refused[0].sentence
    assert Preparation.objects.filter(hood=everybody.hood).count() == 1


def test_of_two_who_take_paused_work_up_at_once_one_gets_it(everybody: Cast) -> None:
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg"))
    run.pause(code=work.code, person=work.technician, key=key(), reason="a break")

    def resuming(who: str) -> Callable[[], object]:
        return lambda: run.resume(code=work.code, person=everybody[who], key=key())

    done, refused = parted(at_once(resuming("technician"), resuming("second technician")))
    assert len(done) == 1
    assert isinstance(refused[0], NotPaused)
    assert work.preparation.technician == done[0].technician


@pytest.mark.parametrize("other", ["taking up another", "opening another"])
def test_a_technician_who_takes_up_two_at_once_gets_one_and_is_told_which(
    everybody: Cast, other: str
) -> None:
    person, codes = everybody["technician"], []
    for _ in range(2):
        work = hands(everybody, order("ondansetron-nacl-50", "8 mg"))
        run.pause(code=work.code, person=person, key=key(), reason="a break")
        codes.append(work.code)
    number = order("ketorolac-syringe", "30 mg").number

    def resuming(code: str) -> Callable[[], object]:
        return lambda: run.resume(code=code, person=person, key=key())

    def opening() -> object:
        return run.open_preparation(number=number, person=person, key=key())

    second = resuming(codes[1]) if other == "taking up another" else opening
    done, refused = parted(at_once(resuming(codes[0]), second))
    assert len(done) == 1
    assert isinstance(refused[0], AlreadyAtWork)
    assert Preparation.objects.filter(technician=person, state="in-work").get() == done[0]


def test_a_release_and_a_cancellation_at_once_never_end_in_a_released_open_hold(everybody: Cast) -> None:
    work = hands(everybody, order("ketorolac-syringe", "30 mg")).to("release")

    def releasing() -> object:
        return run.release(code=work.code, person=everybody["pharmacist"], key=key(), pin="2468")

    def cancelling() -> object:
        run.cancel_order(order=work.order, reason="stopped", person=everybody["second pharmacist"], key=key())
        return work.preparation

    done, _refused = parted(at_once(releasing, cancelling))
    assert done
    held = work.preparation.holds.filter(resolved_at=None).exists()
    assert (work.preparation.state == "released") is not held
    assert first_fault(work.preparation) is None


def test_many_preparations_at_once_are_all_done_and_none_is_locked_out(everybody: Cast) -> None:
    works = []
    for who in ("technician", "second technician"):
        asked = order("ondansetron-nacl-50", "8 mg")
        works.append(Hands(everybody, asked, everybody[who], everybody["pharmacist"]).open())

    def walking(work: Hands) -> Callable[[], object]:
        def walk() -> Preparation:
            return work.to("first_check").preparation

        return walk

    done, refused = parted(at_once(*map(walking, works)))
    assert (len(done), refused) == (2, [])
    assert all(first_fault(work.preparation) is None for work in works)
