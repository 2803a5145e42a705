"""Steps finished without network and sent later: once, in order, at their true times; a refused one stops.

The rules are our own (no source): the device's clock is compared with the program's at sending, and the time
it gives is moved by the difference.
"""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.utils import timezone

from cast import Cast, Hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.clocks import are_hands_out
from checklists.independence import is_maker
from checklists.models import Garbing, Hold, Person
from checklists.refusals import NotADeviceTime, NotYours
from tests.checklists.walks import beside

MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def disposing(house: Cast) -> Hands:
    return beside(house, order("ondansetron-nacl-50", "8 mg")).to("dispose")


def send(
    work: Hands, place: int, *, ago: timedelta = timedelta(), ahead: timedelta = timedelta(), **who: object
) -> str:
    """Send a step as done `ago`, by a device whose clock is `ahead`; return its key."""
    sent = timezone.now() + ahead
    times = {"done_at": (sent - ago).isoformat(), "sent_at": sent.isoformat()}
    once = str(who.get("once") or key())
    person = who.get("person") or work.technician
    kept = run.kept(**times, device="tablet 1")
    run.finish_step(code=work.code, person=person, key=once, place=place, given={}, kept=kept)
    return once


def entries(work: Hands, act: str) -> list[dict]:
    return [json.loads(one.text)["facts"] for one in work.preparation.entries.filter(act=act)]


def begun_before(work: Hands, ago: timedelta) -> None:
    work.preparation.steps.filter(pk=work.step.pk).update(started_at=timezone.now() - ago)


@pytest.mark.parametrize("ahead", [timedelta(), 7 * MINUTE, -90 * MINUTE])
def test_a_step_has_its_true_time_whatever_the_devices_clock_says(
    everybody: Cast, disposing: Hands, ahead: timedelta
) -> None:
    begun_before(disposing, 10 * MINUTE)
    step, now = disposing.step, timezone.now()
    send(disposing, step.place, ago=4 * MINUTE, ahead=ahead)
    step.refresh_from_db()
    assert abs(step.finished_at - (now - 4 * MINUTE)) < timedelta(seconds=5)
    (facts,) = [one for one in entries(disposing, "finish") if one["step"] == "dispose"]
    assert facts["device"] == "tablet 1"
    assert abs(facts["device_ahead_seconds"] - ahead.total_seconds()) <= 1
    assert facts["device_time"] == (now + ahead - 4 * MINUTE).isoformat()[:16] + facts["device_time"][16:]
    assert disposing.step.started_at == step.finished_at, "the next one began when this one ended"
    assert first_fault(disposing.preparation) is None


def test_no_step_ends_before_it_began_or_after_now(everybody: Cast, disposing: Hands) -> None:
    began = disposing.step.started_at
    send(disposing, disposing.step.place, ago=30 * MINUTE)
    done = disposing.preparation.steps.get(kind="dispose")
    assert done.finished_at == began


def test_sent_twice_it_is_done_once(everybody: Cast, disposing: Hands) -> None:
    place = disposing.step.place
    once = send(disposing, place)
    send(disposing, place, once=once)
    assert len([one for one in entries(disposing, "finish") if one["step"] == "dispose"]) == 1
    assert not entries(disposing, "kept step done already")


def test_pressed_and_then_sent_with_the_same_key_it_is_done_once(everybody: Cast, disposing: Hands) -> None:
    """The answer to the press was lost: the device sends the press again as kept."""
    place, once = disposing.step.place, key()
    run.finish_step(code=disposing.code, person=disposing.technician, key=once, place=place, given={})
    send(disposing, place, once=once)
    assert disposing.preparation.holds.count() == 0
    assert len([one for one in entries(disposing, "finish") if one["step"] == "dispose"]) == 1


def test_what_must_last_begins_where_the_program_sees_it_begin(everybody: Cast, disposing: Hands) -> None:
    begun_before(disposing, 10 * MINUTE)
    send(disposing, disposing.step.place, ago=5 * MINUTE)
    send(disposing, disposing.step.place, ago=4 * MINUTE)
    assert disposing.step.kind == "clean_up"
    assert timezone.now() - disposing.step.started_at < MINUTE


def test_a_step_done_at_two_devices_is_in_the_record_and_stops_nothing(
    everybody: Cast, disposing: Hands
) -> None:
    place = disposing.step.place
    disposing.do()
    send(disposing, place)
    assert [one["step"] for one in entries(disposing, "kept step done already")] == ["dispose"]
    assert disposing.preparation.holds.count() == 0
    assert disposing.step.kind == "hand_over"


@pytest.mark.parametrize("kind", ["draw", "apply_label", "show"])
def test_a_step_that_waits_for_the_network_is_not_taken_as_done_without(everybody: Cast, kind: str) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to(kind)
    place = work.step.place
    send(work, place)
    hold = work.preparation.holds.get()
    assert (hold.cause, hold.resolved_at) == (Hold.Cause.KEPT_REFUSED, None)
    assert work.preparation.steps.get(place=place).finished_at is None
    assert first_fault(work.preparation) is None


def test_a_refused_step_opens_one_hold_and_every_later_one_is_in_the_record(
    everybody: Cast, disposing: Hands
) -> None:
    places = [one.place for one in disposing.preparation.steps.filter(finished_at=None)[:2]]
    run.pause(code=disposing.code, person=disposing.technician, key=key(), reason="called away")
    for place in places:
        send(disposing, place)
    assert disposing.preparation.holds.count() == 1
    refused = entries(disposing, "kept step refused")
    assert [one["step"] for one in refused] == ["dispose", "hand_over"]
    assert "paused" in refused[0]["sentence"]
    assert disposing.step.kind == "dispose"
    run.resume(code=disposing.code, person=disposing.technician, key=key())
    run.resolve(
        code=disposing.code,
        person=everybody["pharmacist"],
        key=key(),
        hold=disposing.preparation.holds.get().pk,
        resolution="carry-on",
        reason="asked at the hood: done as it should be",
        pin="2468",
    )
    assert disposing.to_release().preparation.state == "released"
    assert first_fault(disposing.preparation) is None


def test_gloves_whose_time_had_run_out_by_then_stop_the_work(everybody: Cast) -> None:
    """30 minutes for outer gloves at hazardous work (USP <800>, memory)."""
    work = beside(everybody, order("fluorouracil-nacl-500", "800 mg")).to("attach_devices")
    worn = timezone.now() - 40 * MINUTE
    work.preparation.steps.filter(kind__in=("put_on_gloves", "identify_hood")).update(finished_at=worn)
    begun_before(work, 39 * MINUTE)
    place = work.step.place
    run_out = work.preparation.steps.get(place=place)
    send(work, place, ago=5 * MINUTE)
    run_out.refresh_from_db()
    assert run_out.finished_at is None
    assert "run out" in work.preparation.holds.get().note


def test_gloves_that_were_still_good_then_are_no_fault_now(everybody: Cast) -> None:
    work = beside(everybody, order("fluorouracil-nacl-500", "800 mg")).to("attach_devices")
    worn = timezone.now() - 40 * MINUTE
    work.preparation.steps.filter(kind__in=("put_on_gloves", "identify_hood")).update(finished_at=worn)
    begun_before(work, 39 * MINUTE)
    send(work, work.step.place, ago=25 * MINUTE)
    assert work.preparation.holds.count() == 0
    work.finish(work.step, stands="at the mark")
    assert work.step.kind == "change_gloves", "their time is over now: they are changed before the draw"


def test_gloves_put_on_without_network_count_from_then(everybody: Cast) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to("put_on_gloves")
    begun_before(work, 20 * MINUTE)
    send(work, work.step.place, ago=15 * MINUTE)
    garbing = Garbing.objects.get(person=work.technician, ended_at=None)
    assert timedelta(minutes=14) < timezone.now() - garbing.at < timedelta(minutes=16)
    assert not are_hands_out(work.preparation)


def test_somebody_who_made_nothing_of_it_sends_nothing_to_it(everybody: Cast, disposing: Hands) -> None:
    stranger: Person = everybody["second technician"]
    with pytest.raises(NotYours):
        send(disposing, disposing.step.place, person=stranger)
    assert disposing.preparation.holds.count() == 0
    assert not is_maker(disposing.preparation, stranger)


def test_what_was_taken_over_meanwhile_stops_and_its_first_maker_stays_one(
    everybody: Cast, disposing: Hands
) -> None:
    place, other = disposing.step.place, everybody["second technician"]
    run.pause(code=disposing.code, person=disposing.technician, key=key(), reason="end of shift")
    run.resume(code=disposing.code, person=other, key=key())
    send(disposing, place)
    assert disposing.preparation.holds.get().cause == Hold.Cause.KEPT_REFUSED
    assert is_maker(disposing.preparation, disposing.technician)


@pytest.mark.parametrize(
    ("done", "sent"),
    [
        ("", ""),
        ("yesterday", "2026-11-25T10:00:00Z"),
        ("2026-11-25T10:00:00", "2026-11-25T10:00:00"),
        ("2026-11-25T10:05:00Z", "2026-11-25T10:00:00Z"),
        ("2026-11-20T10:00:00Z", "2026-11-25T10:00:00Z"),
    ],
    ids=["nothing", "no time", "no zone", "done after it was sent", "days old"],
)
def test_a_device_that_gives_no_time_is_told_so(done: str, sent: str) -> None:
    with pytest.raises(NotADeviceTime):
        run.kept(done_at=done, sent_at=sent, device="tablet 1")
