"""One act at the bench: a durable transaction that locks the preparation and is done once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, wraps
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from checklists import record
from checklists.independence import read_twice
from checklists.method.procedure import PlannedStep
from checklists.method.second_reading import drawn_in, is_second, with_second
from checklists.method.step_kinds import StepKind, Takes, row_of
from checklists.models import Entry, Hold, Person, Preparation, Step
from checklists.refusals import NoSuchPreparation
from checklists.run import lapsed
from checklists.run.clockwork import refuse_leap
from checklists.run.closing import close_if_ended
from checklists.run.pins import try_pin
from compounding.formulary.policy import current_policy
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet, from_plain

if TYPE_CHECKING:
    from checklists.run.kept import Kept

#: Room between two steps, so that steps can be put in between without moving any.
GAP = 1_000_000_000


@dataclass
class Bench:
    """What an act works with: the locked preparation, who acts, when, and the key that it is done once by."""

    preparation: Preparation
    person: Person
    now: datetime
    key: str
    entries: int = 0
    #: Set for a step that a device finished without network: what it says, and when it was done by our clock.
    kept: Kept | None = None
    done_at: datetime | None = None

    @cached_property
    def worksheet(self) -> Worksheet:
        """Return the frozen worksheet."""
        return from_plain(self.preparation.worksheet)

    @cached_property
    def policy(self) -> Policy:
        """Return the site's policy in force."""
        return current_policy()

    @property
    def when(self) -> datetime:
        """Return when it was done: now, or earlier where a device without network did it."""
        return self.done_at or self.now

    @property
    def step(self) -> Step | None:
        """Return the step that the work has come to."""
        return self.preparation.steps.filter(finished_at=None).first()

    def kind(self, step: Step) -> StepKind:
        """Return the row of the step's kind."""
        return row_of(step)

    def write(self, act: str, **facts: object) -> Entry:
        """Put an entry into the record. Only the first entry of an act carries its bare key."""
        self.entries += 1
        key = self.key if self.entries == 1 else f"{self.key}/{self.entries}"
        facts |= self.kept.facts if self.kept else {}
        return record.append(self.preparation, act, person=self.person, at=self.now, key=key, facts=facts)

    def finish(self, step: Step, *, reason: str = "") -> None:
        """Stamp the step's end, and the start of the one after it unless the work is on hold."""
        step.finished_at, step.finished_by, step.reason = self.when, self.person, reason
        step.save(update_fields=["finished_at", "finished_by", "reason"])
        self.start_next()

    def start_next(self) -> None:
        """Stamp the start of the step that the work has come to, unless it has one or the work is on hold.

        What has run out is mended first.
        """
        following = self.step
        if following and following.started_at is None and not self.is_on_hold:
            if self.preparation.state == Preparation.State.IN_WORK:
                self.put_in(self._mending(following))
                following = self.step or following
            following.started_at = self._began(following)
            following.save(update_fields=["started_at"])

    def _began(self, following: Step) -> datetime:
        """Return when it began; what must last begins only where the program sees it begin."""
        return self.now if self.kind(following).takes is Takes.DWELL else self.when

    def _mending(self, following: Step) -> tuple[PlannedStep, ...]:
        """Return what comes before the step because something has run out, and enter that it is put in."""
        planned = lapsed.due(self, following)
        if planned:
            self.write("put in", before=following.kind, steps=[[one.kind, one.about] for one in planned])
        return planned

    @property
    def is_on_hold(self) -> bool:
        """Say whether a hold is open."""
        return self.preparation.holds.filter(resolved_at=None).exists()

    def put_in(self, planned: Iterable[PlannedStep]) -> None:
        """Put steps in before the one that the work has come to."""
        steps = self._with_second(list(planned))
        if not steps:
            return
        now = self.step
        done = (
            self.preparation.steps.filter(place__lt=now.place).last()
            if now
            else self.preparation.steps.last()
        )
        low = done.place if done else 0
        room = (self._end_of_room(low, len(steps)) - low) // (len(steps) + 1)
        Step.objects.bulk_create(
            Step(
                preparation=self.preparation, place=low + room * (index + 1), kind=step.kind, about=step.about
            )
            for index, step in enumerate(steps)
        )

    def _with_second(self, steps: list[PlannedStep]) -> list[PlannedStep]:
        """Return the steps with a second reading of what they fill anew, unless one is still to come."""
        anew = drawn_in(steps)
        if not anew:
            return steps
        left = self.preparation.steps.filter(kind="show", finished_at=None)
        to_come = {number for step in left if is_second(step) for number in step.about["draws"]}
        return list(with_second(steps, (read_twice(self.preparation) & anew) - to_come))

    def _end_of_room(self, low: int, count: int) -> int:
        """Return the place before which `count` steps go; what is left moves on if they find no room."""
        first, last = self.step, self.preparation.steps.last()
        if first is None or last is None:
            return low + GAP * (count + 1)
        if first.place - low > count:
            return first.place
        further = last.place - first.place + GAP * (count + 1)
        # Those too that ended before their turn: the order stays as it is.
        self.preparation.steps.filter(place__gte=first.place).update(place=F("place") + further)
        return first.place + further

    def put_in_now(self, planned: Iterable[PlannedStep]) -> None:
        """Put steps in and begin with the first of them; the step that was shown starts anew later."""
        shown = self.step
        if shown:
            shown.started_at = shown.taken_at = shown.taken_by = None
            shown.save(update_fields=["started_at", "taken_at", "taken_by"])
        self.put_in(planned)
        self.start_next()

    def open_hold(
        self, cause: Hold.Cause, *, note: str = "", draws: Iterable[int] = (), step: Step | None = None
    ) -> None:
        """Stop the work until a pharmacist resolves it."""
        Hold.objects.create(
            preparation=self.preparation,
            step=step or self.step,
            cause=cause,
            note=note,
            draws=list(draws),
            opened_by=self.person,
            opened_at=self.now,
        )
        self.write("hold", cause=cause.value, note=note, draws=list(draws))


def act(function: Callable[..., None]) -> Callable[..., Preparation]:
    """Make an act of a function: keyword-only, one durable transaction, done once for its key."""

    @wraps(function)
    def once(*, code: str, person: Person, key: str, **given: Any) -> Preparation:
        if (
            "pin" in given
        ):  # tried before the transaction: a wrong one must be counted though the act is undone
            given["pin"] = try_pin(person, given["pin"])
        refuse_leap(person)
        with transaction.atomic(durable=True):
            # no_key, here and wherever a row is locked: PostgreSQL looks up the order again when a
            # preparation is saved twice, and would wait on somebody who holds that order and waits on us.
            preparation = Preparation.objects.select_for_update(no_key=True).filter(code=code).first()
            if preparation is None:
                raise NoSuchPreparation(code=code)
            # By its name too: a stale page may send one key with two different acts, and both are meant.
            once_by = f"{function.__name__} {key}"
            if not record.was_done(preparation, once_by):
                function(Bench(preparation, person, timezone.now(), once_by), **given)
                close_if_ended(preparation)
        return preparation

    return once
