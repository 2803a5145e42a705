"""Whatever four people do on three devices, stale, kept back, reordered or sent twice, the invariants hold.

`invariants.py` names them and their source; `floor.py` says what may be pressed. That the run would find a
missing gate or a missing rule of independence is shown by taking each out.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from cast import PIN, Cast
from checklists import gate, run
from checklists.models import Person
from checklists.run import ending, guards
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import everybody, house
from tests.properties import invariants
from tests.properties.floor import ORDERS, PEOPLE, TALLY, Device, Floor

__all__ = ["everybody", "house"]

which = st.integers(0, 1)
at = st.integers(0, 2)
back = st.sampled_from((0, 0, 0, 1, 2, 5))
volume = st.sampled_from(("at", "at", "1", "4.5", "0.3", "x"))
kind = st.sampled_from(sorted(ORDERS))


class AnyOrderOfActs(RuleBasedStateMachine):
    """Two orders of any kind, four people, three devices, and every act there is at any step ever shown."""

    cast: ClassVar[Cast]
    wanted = st.tuples(kind, kind)
    steps = st.integers(0, 45)

    def __init__(self) -> None:
        super().__init__()
        self.block = transaction.atomic()
        self.block._from_testcase = True
        self.block.__enter__()
        self.known: invariants.Entries = {}
        self.moves = 0

    def teardown(self) -> None:
        try:
            self.all_is_well()
        finally:
            TALLY.update(one.state for one in self.floor.preparations())
            self.floor.leave()
            transaction.set_rollback(True)
            self.block.__exit__(None, None, None)

    @initialize(data=st.data())
    def begin(self, data: st.DataObject) -> None:
        """Begin anywhere between two orders that wait and two that are about to be released."""
        wanted, first, second = (data.draw(one) for one in (self.wanted, self.steps, self.steps))
        self.floor = Floor(self.cast, wanted)
        TALLY.update(wanted)
        for number, steps in enumerate((first, second)):
            if steps:
                self.floor.press(self.floor.devices[number], [self.opening(number)])
                self.floor.go_on(number, "pharmacist", steps)

    def opening(self, number: int) -> tuple[Callable[..., object], dict[str, object]]:
        return run.open_preparation, {"number": self.floor.orders[number].number}

    @rule(at=at, who=st.sampled_from(PEOPLE))
    def hand_over(self, at: int, who: str) -> None:
        """Somebody else takes the device; what it shows stays."""
        self.floor.devices[at].who = who

    @rule(
        who=st.sampled_from(("second technician", "second pharmacist")),
        role=st.sampled_from(Person.Role.values[:2]),
    )
    def change_role(self, who: str, role: str) -> None:
        Person.objects.filter(pk=self.cast[who].pk).update(role=role)

    @rule(at=at, number=which)
    def open(self, at: int, number: int) -> None:
        self.floor.press(self.floor.devices[at], [self.opening(number)])

    @rule(at=at, number=which, steps=st.integers(1, 12))
    def go_on_honestly(self, at: int, number: int, steps: int) -> None:
        self.floor.go_on(number, self.floor.devices[at].who, steps)

    @rule(at=at, number=which, back=back, is_stale=st.booleans(), volume=volume, what=st.integers(0, 5))
    def press(self, at: int, number: int, back: int, is_stale: bool, volume: str, what: int) -> None:
        """Press a button of a page that may be an old one."""
        device, work = self.floor.devices[at], self.floor.work(number)
        shown = self.floor.page(device, number, is_stale=is_stale, back=back)
        if work is None or shown is None:
            return
        place, hold = shown
        presses = (
            lambda: self.floor.finishing(work, place, volume, ""),
            lambda: self.floor.finishing(work, place, volume, "own"),
            lambda: self.floor.checking(work, place, volume),
            lambda: self.floor.refusing(work, place),
            lambda: self.floor.resolving(
                work, hold, ("draw-again", "read-again", "check-again", "carry-on")[back % 4]
            ),
            lambda: self.floor.going_wrong(work, place + back),
        )
        self.floor.press(device, presses[what]())

    @rule(at=at, number=which, pin=st.sampled_from((PIN, PIN, "0000")))
    def release(self, at: int, number: int, pin: str) -> None:
        if work := self.floor.work(number):
            self.floor.press(self.floor.devices[at], [(run.release, {"code": work.code, "pin": pin})])

    @rule(
        at=at,
        number=which,
        what=st.sampled_from(("pause", "resume", "resume", "clear_hood", "abandon", "print_labels")),
    )
    def set_aside(self, at: int, number: int, what: str) -> None:
        if work := self.floor.work(number):
            self.floor.press(self.floor.devices[at], self.floor.setting_aside(work, what))

    @rule(at=at, number=which, is_meant=st.sampled_from((False, False, False, True)))
    def cancel(self, at: int, number: int, is_meant: bool) -> None:
        if is_meant and (person := self.floor.person(self.floor.devices[at].who)).role == "pharmacist":
            TALLY["acts"] += 1
            try:
                run.cancel_order(
                    order=self.floor.orders[number], reason="not needed", person=person, key="stop"
                )
            except Refusal:
                TALLY["refused"] += 1

    @rule(at=at)
    def cut_off(self, at: int) -> None:
        """From now on what is pressed there waits."""
        self.floor.devices[at].is_cut_off = True

    @rule(at=at, data=st.data())
    def come_back(self, at: int, data: st.DataObject) -> None:
        """What waited is sent, in any order."""
        device: Device = self.floor.devices[at]
        waiting, device.outbox, device.is_cut_off = device.outbox, [], False
        for press in data.draw(st.permutations(waiting)):
            self.floor.send(press)

    @rule(data=st.data())
    def replay(self, data: st.DataObject) -> None:
        """Send again what was acknowledged, from a stale page or a lost answer: nothing is done twice."""
        if not self.floor.done:
            return
        act, told = data.draw(st.sampled_from(self.floor.done))
        before = invariants.entries(self.floor.preparations())
        TALLY["acts"] += 1
        TALLY["replayed"] += 1
        act(**told)
        assert invariants.entries(self.floor.preparations()) == before, "an act was done twice"

    @invariant()
    def whatever_was_done_the_invariants_hold(self) -> None:
        if not hasattr(self, "floor"):
            return
        now = invariants.entries(self.floor.preparations())
        invariants.history_only_grew(self.known, now)
        moved = [one for one in self.floor.preparations() if now[one.code] != self.known.get(one.code)]
        self.known = now
        if moved:
            self.moves += 1
            invariants.hold(moved)
            if self.moves % 8 == 0:
                self.all_is_well()

    def all_is_well(self) -> None:
        """Assert what takes longer to look up, now and then and at the end."""
        invariants.verifies(self.floor.preparations())
        invariants.acknowledged_once(self.floor.preparations(), self.floor.done)
        invariants.hold_for_the_house()


def try_it(everybody: Cast, examples: int, steps: int, machine: type[AnyOrderOfActs], *phases: Phase) -> None:
    AnyOrderOfActs.cast = everybody
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            derandomize=True,
            report_multiple_bugs=False,
            suppress_health_check=list(HealthCheck),
            phases=phases or tuple(Phase),
        ),
    )


def test_the_invariants_hold_whatever_is_done(everybody: Cast, times: Callable[[int, int], int]) -> None:
    TALLY.clear()
    try_it(everybody, times(8, 420), times(25, 50), AnyOrderOfActs)
    assert TALLY["acts"] >= times(150, 20_000)
    assert {"in-work", "released"} <= set(TALLY), "the acts went all the way"
    print(f"\n{connection.vendor}: {dict(TALLY)}")


class NearTheEnd(AnyOrderOfActs):
    """The same floor with short work that waits for a check: where a rule that is gone shows soonest."""

    @initialize(data=st.data())
    def begin(self, data: st.DataObject) -> None:
        """Begin at one of the checks."""
        self.floor = Floor(self.cast, ("vial into a syringe", "vial into a syringe"))
        for number in range(2):
            self.floor.press(self.floor.devices[number], [self.opening(number)])
            work = self.floor.work(number)
            assert work
            work.to(data.draw(st.sampled_from(("first_check", "final_check", "release"))))
        if data.draw(st.booleans()):
            self.change_role("second technician", "pharmacist")


TAKEN_OUT = {
    "the gate": ([(ending, "blockers", lambda *_: ())], "^released|^somebody checked what they made"),
    "the independence rule": (
        [(guards, "is_maker", lambda *_: False), (gate, "is_maker", lambda *_: False)],
        "^somebody checked what they made",
    ),
}


@pytest.mark.parametrize("what", TAKEN_OUT)
def test_a_rule_taken_out_of_the_code_is_found(
    everybody: Cast, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    removed, said = TAKEN_OUT[what]
    for place, name, nothing in removed:
        monkeypatch.setattr(place, name, nothing)
    with pytest.raises(AssertionError, match=said):
        try_it(everybody, 100, 30, NearTheEnd, Phase.generate)
