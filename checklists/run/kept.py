"""Steps that a tablet finished without network and sends later: each once, in order, with its true time.

The device says when it was done, and what its clock shows while it sends: the difference is measured then and
stored, and the time is moved by it. What is refused now was done all the same: the work stops until a
pharmacist has seen it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from checklists.independence import is_maker
from checklists.method.away import REFUSED, TWICE, Away, away_of
from checklists.models import Hold, Preparation, Step
from checklists.refusals import DoneWhileLapsed, NotADeviceTime, NotGoingOnAlone, NotYours
from checklists.run.bench import Bench
from compounding.formulary import codes
from compounding.reckoning.refusals import Refusal

ENDED = (Preparation.State.RELEASED, Preparation.State.DISCARDED)
#: What was kept longer cannot be sent as done just now. Own rule, no source.
OLDEST = timedelta(days=2)

Finish = Callable[..., None]


@dataclass(frozen=True)
class Kept:
    """When the device says it was done, how far its clock was ahead of ours at sending, and which device."""

    device_time: datetime
    ahead: timedelta
    device: str

    @property
    def done_at(self) -> datetime:
        """Return the time by our clock."""
        return self.device_time - self.ahead

    @property
    def facts(self) -> dict[str, object]:
        """Return what the record keeps beside its own time."""
        return {
            "device": self.device,
            "device_time": self.device_time.isoformat(),
            "device_ahead_seconds": round(self.ahead.total_seconds()),
        }


def kept(*, done_at: str, sent_at: str, device: str) -> Kept:
    """Read what a device says beside a step that it kept: two times of its own clock, or refuse."""
    done, sent = _moment(done_at), _moment(sent_at)
    if not timedelta() <= sent - done <= OLDEST:
        raise NotADeviceTime()
    return Kept(done, sent - timezone.now(), device)


def _moment(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text.strip()[:40])
    except ValueError:
        raise NotADeviceTime() from None
    if found.tzinfo is None:
        raise NotADeviceTime()
    return found


def take(bench: Bench, kept: Kept, finish: Finish, *, place: int, given: Mapping[str, str]) -> None:
    """Finish the step as it was done; where that is refused, keep that it was, and stop the work."""
    step = bench.preparation.steps.filter(place=place).first()
    if not is_maker(bench.preparation, bench.person):
        raise NotYours(
            code=codes.grouped(bench.preparation.code), technician=bench.preparation.technician.name
        )
    bench.kept = kept
    if step and step.finished_by_id == bench.person.pk:
        bench.write(TWICE, step=step.kind, place=place)
        return
    _set_time(bench, kept, step)
    try:
        with transaction.atomic():
            _refuse_unless_alone(step)
            finish(bench, place=place, given=given)
            _refuse_if_not_done(bench, place)
    except Refusal as refusal:
        _stop(bench, place, step, refusal)


def _set_time(bench: Bench, kept: Kept, step: Step | None) -> None:
    """Take the device's time, moved by what its clock is off, but none before the step began or after now."""
    began = step.started_at if step and step.started_at else bench.now
    bench.done_at = min(bench.now, max(began, kept.done_at))


def _refuse_unless_alone(step: Step | None) -> None:
    if step and away_of(step) is Away.WAITS:
        raise NotGoingOnAlone()


def _refuse_if_not_done(bench: Bench, place: int) -> None:
    """Something had run out by then, and is mended first: this was done without it. A recall may stop it."""
    if not bench.preparation.steps.filter(place=place, finished_at=None).exists():
        return
    if not bench.is_on_hold:
        raise DoneWhileLapsed()
    bench.write(REFUSED, place=place, refusal="on-hold", sentence="The work was stopped.")


def _stop(bench: Bench, place: int, step: Step | None, refusal: Refusal) -> None:
    bench.preparation.refresh_from_db()
    bench.entries, bench.done_at = 0, None
    kind = step.kind if step else ""
    bench.write(REFUSED, step=kind, place=place, refusal=refusal.code, sentence=refusal.sentence)
    if bench.preparation.state not in ENDED and not bench.is_on_hold:
        bench.open_hold(Hold.Cause.KEPT_REFUSED, note=refusal.sentence[:500])
