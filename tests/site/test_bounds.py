"""Too much at once is refused in words: too many requests, too large, too many fields; a clock that leaps.

Source: the project's own rules; 413, 429 and Retry-After: RFC 9110 and RFC 6585 (memory).
"""

from __future__ import annotations

import logging
from datetime import timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from cast import PIN, Cast, Hands, hands, key, order
from checklists import run
from checklists.models import Entry, SecurityEvent
from checklists.refusals import ClockJumped
from checklists.run import clockwork
from tests.checklists.walks import everybody, house, sign_in, words

__all__ = ["everybody", "house"]


@pytest.fixture(autouse=True)
def forgotten() -> None:
    cache.clear()


@pytest.fixture
def work(everybody: Cast) -> Hands:
    return hands(everybody, order("ketorolac-syringe", "30 mg"))


def test_a_device_that_asks_too_often_is_told_so_and_another_is_not(everybody: Cast, settings) -> None:
    settings.REQUESTS_A_MINUTE = 20
    flood, honest = sign_in(everybody["technician"]), sign_in(everybody["technician"])
    with time_machine.travel(timezone.now().replace(second=10), tick=False):
        answers = [flood.get(reverse("to_make")).status_code for _ in range(25)]
        assert answers == [200] * 20 + [429] * 5
        refused = flood.get(reverse("to_make"))
        assert "This device asks too often" in words(refused)
        assert refused["Retry-After"] == "50"
        assert refused["Cache-Control"] == "no-store"
        assert honest.get(reverse("to_make")).status_code == 200
    with time_machine.travel(timezone.now().replace(second=10) + timedelta(minutes=1), tick=False):
        assert flood.get(reverse("to_make")).status_code == 200


def test_signed_out_it_is_the_address_that_is_counted(everybody: Cast, settings) -> None:
    settings.REQUESTS_A_MINUTE_SIGNED_OUT = 5
    with time_machine.travel(timezone.now().replace(second=10), tick=False):
        for made_up in ("", "one", "two"):  # a cookie of one's own making is nobody's session
            browser = Client()
            browser.cookies["counterdraw"] = made_up
            for _ in range(2):
                answer = browser.get(reverse("sign_in"))
        assert answer.status_code == 429
        assert Client(REMOTE_ADDR="10.0.0.9").get(reverse("sign_in")).status_code == 200


def test_what_is_too_large_is_not_taken(everybody: Cast, work: Hands, settings) -> None:
    tablet, where = sign_in(work.technician), reverse("pause", args=[work.code])
    before = Entry.objects.count()
    settings.LARGEST_REQUEST = 100_000
    large = tablet.post(reverse("read_picture"), {"picture": SimpleUploadedFile("a.jpg", bytes(100_001))})
    assert large.status_code == 413
    assert "What was sent is too large" in words(large)
    settings.LARGEST_REQUEST = 16 * 1024 * 1024
    for told in ({"reason": "x" * 600_000}, {f"field {number}": "1" for number in range(2500)}):
        answer = tablet.post(where, told)
        assert answer.status_code == 400
        assert "The form is larger than it can be" in words(answer)
    assert Entry.objects.count() == before


def leap(monkeypatch: pytest.MonkeyPatch, seconds: float) -> None:
    """Let the wall's clock have gone that much further than time since the last act."""
    monkeypatch.setattr(clockwork, "_leapt", lambda: seconds)


def pause_and_on(work: Hands) -> None:
    run.pause(code=work.code, person=work.technician, key=key(), reason="end of shift")
    run.resume(code=work.code, person=work.technician, key=key())


def test_a_clock_that_leaps_forward_is_said_once_and_nothing_is_saved(
    work: Hands, settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.CLOCK_LEAP_SECONDS = 120
    leap(monkeypatch, 86_400)
    before = Entry.objects.count()
    with pytest.raises(ClockJumped) as refused:
        pause_and_on(work)
    assert "went forward by 1 day, 0:00:00 at once" in refused.value.sentence
    assert Entry.objects.count() == before
    assert SecurityEvent.objects.get(what=clockwork.FORWARD).about == "by 1 day, 0:00:00"
    pause_and_on(work)  # whoever presses again has looked at the clock
    assert Entry.objects.count() == before + 2


def test_a_clock_that_leaps_back_is_kept_and_a_small_step_is_not(
    work: Hands, settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.CLOCK_LEAP_SECONDS = 120
    leap(monkeypatch, -3)
    pause_and_on(work)
    assert not SecurityEvent.objects.exists()
    leap(monkeypatch, -600)
    pause_and_on(work)
    assert SecurityEvent.objects.filter(what=clockwork.BACK).count() == 1


def test_the_leap_is_measured_against_time_that_passes() -> None:
    clockwork._leapt()
    with time_machine.travel(timezone.now() + timedelta(hours=1)):
        forward = clockwork._leapt()
    assert 3590 < forward < 3610
    assert -3610 < clockwork._leapt() < -3590


def test_a_whole_journey_leaves_no_patient_and_no_secret_in_log_or_address(
    everybody: Cast, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    asked = order("ketorolac-syringe", "30 mg")
    browsers = {who: Client() for who in ("technician", "pharmacist", "supervisor")}
    where = []
    for who, browser in browsers.items():
        browser.post(reverse("sign_in"), {"badge": everybody[who].badge, "pin": "9999"})
        browser.post(reverse("sign_in"), {"badge": everybody[who].badge, "pin": PIN})
    answer = browsers["technician"].post(reverse("open_order", args=[asked.number]), follow=True)
    where += [address for address, _status in answer.redirect_chain]
    work = Hands(everybody, asked, everybody["technician"], everybody["pharmacist"])
    work.code = asked.preparations.get().code
    work.to("release")
    step = work.step
    signed = browsers["pharmacist"].post(
        reverse("release", args=[work.code, step.place]), {"pin": PIN}, follow=True
    )
    where += [address for address, _status in signed.redirect_chain]
    for name, args in (("finished", []), ("record", [work.code]), ("order", [asked.number]), ("home", [])):
        where.append(reverse(name, args=args))
        browsers["supervisor"].get(where[-1], follow=True)
    assert work.preparation.state == "released"
    told = "\n".join([*(record.getMessage() for record in caplog.records), *where])
    assert "wrong PIN" in told, "what happened at the door is told"
    secrets = (PIN, "9999", asked.patient_name, asked.patient_identifier, "1961-03-04", "Calloway")
    assert [secret for secret in secrets if secret in told] == []
