"""Whatever four people do on whatever pages, stale, replayed or out of order, the invariants hold.

Source: shared design 5: never released while any reason stands against it; no acknowledged act lost, none
doubled; history never changes. What may be released is judged here from the entries,
not by the gate's own code.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from typing import Any

from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from cast import PIN, Cast, Hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.collation import differences
from checklists.models import Preparation
from checklists.sealing import site_faults
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import everybody, house

__all__ = ["everybody", "house"]

PEOPLE = ("technician", "second technician", "pharmacist", "second pharmacist")
ORDERS = (("ketorolac-syringe", "30 mg"), ("ondansetron-nacl-50", "8 mg"))
MAKERS_ACTS = {"open", "resume", "finish", "draw"}
CHECKS = {"first check", "see draw", "final check", "release"}

STATES: Counter[str] = Counter()

who = st.sampled_from(PEOPLE)
which = st.integers(0, len(ORDERS) - 1)
back = st.sampled_from((0, 0, 0, 1, 2, 5))
volume = st.sampled_from(("at", "at", "1", "4.5", "0.3", "x"))


class AnyOrderOfActs(RuleBasedStateMachine):
    """Two orders, four people, and every act there is, by anybody, at any step that was ever shown."""

    cast: Cast

    def __init__(self) -> None:
        super().__init__()
        self.block = transaction.atomic()
        self.block._from_testcase = True
        self.block.__enter__()
        self.orders = [order(*asked) for asked in ORDERS]
        self.done: list[tuple[Callable[..., Any], dict[str, Any]]] = []
        self.acknowledged: dict[str, list[tuple[int, str]]] = {}

    def teardown(self) -> None:
        STATES.update(Preparation.objects.filter(order__in=self.orders).values_list("state", flat=True))
        transaction.set_rollback(True)
        self.block.__exit__(None, None, None)

    def work(self, number: int) -> Hands | None:
        found = self.orders[number].preparations.order_by("-pk").first()
        people = self.cast["technician"], self.cast["pharmacist"]
        return Hands(self.cast, self.orders[number], *people, code=found.code) if found else None

    def attempt(self, act: Callable[..., Any], **told: Any) -> None:
        """Do an act as a page would: it is done and acknowledged, or refused in words."""
        told = {"key": key(), **told}
        try:
            act(**told)
        except Refusal:
            return
        self.done.append((act, told))

    @initialize(first=st.integers(0, 40), second=st.integers(0, 40))
    def begin(self, first: int, second: int) -> None:
        """Begin anywhere between two orders that wait and two that are about to be released."""
        for number, steps in enumerate((first, second)):
            if steps:
                self.open(number=number, who=PEOPLE[number])
                self.go_on_honestly(number=number, steps=steps)

    @rule(number=which, who=st.sampled_from(PEOPLE))
    def open(self, number: int, who: str) -> None:
        told = {"number": self.orders[number].number, "person": self.cast[who]}
        self.attempt(run.open_preparation, **told)

    @rule(number=which, steps=st.integers(1, 12))
    def go_on_honestly(self, number: int, steps: int) -> None:
        work = self.work(number)
        if work is None:
            return
        work.technician = work.preparation.technician
        for _ in range(steps):
            try:
                if work.step:
                    work.do()
            except Refusal:
                return

    @rule(number=which, who=who, back=back, volume=volume, scan=st.sampled_from(("", "x", "own")))
    def finish(self, number: int, who: str, back: int, volume: str, scan: str) -> None:
        work = self.work(number)
        if work and (place := self.place(work, back)):
            given = {"reason": "so", "scan": self.cast.hood.code if scan == "own" else scan}
            given |= {"stands": "at the mark"} if volume == "at" else {"volume": volume}
            self.attempt(run.finish_step, code=work.code, person=self.cast[who], place=place, given=given)

    @rule(number=which, who=who, back=back, volume=volume)
    def check(self, number: int, who: str, back: int, volume: str) -> None:
        work = self.work(number)
        if work is None or (place := self.place(work, back)) is None:
            return
        told = {"code": work.code, "person": self.cast[who], "place": place}
        text = "1" if volume == "at" else volume
        volumes = {transfer.number: text for transfer in work.worksheet.transfers}
        self.attempt(run.recalculate, **told, volumes=volumes, has_seen_materials=True, reasons={})
        for draw in work.worksheet.draws:
            self.attempt(run.sight_draw, **told, draw=draw.number, typed=text)
        stated = dict.fromkeys(("as_ordered", "clear", "sound", "used"), volume == "at")
        self.attempt(run.inspect, **told, stated=stated)

    @rule(number=which, who=who, pin=st.sampled_from((PIN, PIN, "0000")))
    def release(self, number: int, who: str, pin: str) -> None:
        if work := self.work(number):
            self.attempt(run.release, code=work.code, person=self.cast[who], pin=pin)

    @rule(number=which, who=who, back=back)
    def refuse(self, number: int, who: str, back: int) -> None:
        work = self.work(number)
        if work and (place := self.place(work, back)):
            told = {"code": work.code, "person": self.cast[who], "place": place}
            self.attempt(run.take_check, **told)
            self.attempt(run.refuse_check, **told, reason="a drop beside it")

    @rule(number=which, who=who, how=st.sampled_from(("draw-again", "read-again", "check-again", "carry-on")))
    def resolve(self, number: int, who: str, how: str) -> None:
        work = self.work(number)
        hold = work.preparation.holds.filter(resolved_at=None).first() if work else None
        if work and hold:
            told = {"code": work.code, "person": self.cast[who], "hold": hold.pk}
            self.attempt(run.see_hold, **told)
            self.attempt(run.resolve, **told, resolution=how, reason="seen together", pin=PIN)

    @rule(number=which, who=who, what=st.sampled_from(("pause", "resume", "resume", "clear_hood", "abandon")))
    def set_aside(self, number: int, who: str, what: str) -> None:
        if work := self.work(number):
            why = {"reason": "called away"} if what in ("pause", "abandon") else {}
            self.attempt(getattr(run, what), code=work.code, person=self.cast[who], **why)

    @rule(number=which, who=who)
    def print_again(self, number: int, who: str) -> None:
        if work := self.work(number):
            told = {"code": work.code, "person": self.cast[who]}
            self.attempt(run.print_labels, **told, reason="smudged")

    @rule(data=st.data())
    def replay(self, data: st.DataObject) -> None:
        """Send again what was acknowledged, from a stale page or a lost answer: nothing is done twice."""
        if not self.done:
            return
        act, told = data.draw(st.sampled_from(self.done))
        before = self.entries()
        act(**told)
        assert self.entries() == before

    def place(self, work: Hands, back: int) -> int | None:
        """Return the place of the step at hand, or of one so many before it."""
        steps = list(work.preparation.steps.values_list("place", "finished_at"))
        at = next((number for number, (_place, done) in enumerate(steps) if done is None), len(steps))
        return steps[max(0, at - back)][0] if at - back < len(steps) and steps else None

    def entries(self) -> dict[str, list[tuple[int, str]]]:
        found = Preparation.objects.filter(order__in=self.orders)
        return {one.code: list(one.entries.values_list("number", "digest")) for one in found}

    @invariant()
    def history_only_grows(self) -> None:
        now = self.entries()
        for code, before in self.acknowledged.items():
            assert now[code][: len(before)] == before
        self.acknowledged = now

    @invariant()
    def the_record_verifies(self) -> None:
        for one in Preparation.objects.filter(order__in=self.orders):
            assert first_fault(one) is None
            assert list(differences(one)) == []
        assert list(site_faults()) == []

    @invariant()
    def nobody_checks_what_they_made(self) -> None:
        for one in Preparation.objects.filter(order__in=self.orders):
            acts = list(one.entries.values_list("act", "person"))
            makers = {person for act, person in acts if act in MAKERS_ACTS}
            assert not makers & {person for act, person in acts if act in CHECKS}

    @invariant()
    def a_technician_has_one_in_work(self) -> None:
        at_work = Preparation.objects.filter(order__in=self.orders, state="in-work")
        technicians = list(at_work.values_list("technician", flat=True))
        assert len(technicians) == len(set(technicians))

    @invariant()
    def what_is_released_may_be(self) -> None:
        for one in Preparation.objects.filter(order__in=self.orders, state="released"):
            told = [(entry.act, json.loads(entry.text)["facts"]) for entry in one.entries.all()]
            seen = {facts["draw"]: facts for act, facts in told if act == "see draw"}
            drawn = {facts["draw"]: facts for act, facts in told if act == "draw"}
            assert set(seen) == set(drawn) == {draw.number for draw in self.of(one).worksheet.draws}
            for draw, facts in seen.items():
                assert facts["agrees"]
                assert facts["attempt"] == drawn[draw]["attempt"]
                assert facts["required"] == facts["drawn"] == facts["seen"]
            acts = [act for act, _facts in told]
            assert acts.count("release") == 1
            assert acts.count("hold") == acts.count("resolve")
            assert "final check" in acts[: acts.index("release")]
            assert not one.steps.filter(finished_at=None).exists()

    def of(self, one: Preparation) -> Hands:
        return Hands(self.cast, one.order, one.technician, self.cast["pharmacist"], code=one.code)


def try_it(everybody: Cast, examples: int, steps: int) -> None:
    AnyOrderOfActs.cast = everybody
    run_state_machine_as_test(
        AnyOrderOfActs,
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            derandomize=True,
            report_multiple_bugs=False,
            suppress_health_check=list(HealthCheck),
        ),
    )


def test_the_invariants_hold_whatever_is_done(everybody: Cast, times: Callable[[int, int], int]) -> None:
    STATES.clear()
    try_it(everybody, times(12, 500), times(30, 50))
    assert {"in-work", "released", "discarded"} <= set(STATES), "the acts went all the way"
