"""PINs that are counted, shut, aged and never used twice; badges given once; signing out everywhere.

Source: the project's own rules; a limit on tries: NIST SP 800-63B, memory. The waits: site habit, no source.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from cast import PIN, Cast, Hands, key
from checklists import run
from checklists.admin import PersonForm
from checklists.audit import first_fault
from checklists.models import Person, PinTries
from checklists.refusals import TooManyTries, WrongPin
from compounding.formulary import codes
from tests.checklists.walks import sign_in, words

SHUT = "Too many wrong PINs. The next one is taken at "


@pytest.fixture
def clock():
    with time_machine.travel(timezone.now(), tick=False) as travelling:
        yield travelling


def enter(badge: str, pin: str = PIN, browser: Client | None = None, **headers: str):
    return (browser or Client()).post(reverse("sign_in"), {"badge": badge, "pin": pin}, **headers)


def fail(badge: str, times: int, **headers: str) -> None:
    for _ in range(times):
        assert enter(badge, "0000", **headers).status_code == 409


def test_after_five_wrong_pins_the_right_one_is_not_taken_and_the_page_says_when(
    everybody: Cast, clock
) -> None:
    badge = everybody["technician"].badge
    fail(badge, 5)
    answer = enter(badge)
    assert answer.status_code == 409
    assert SHUT in words(answer)
    assert "in 2 minutes or less" in words(answer) or "in 1 minute or less" in words(answer)
    clock.shift(timedelta(minutes=1, seconds=1))
    assert enter(badge).status_code == 302
    assert not PinTries.objects.filter(about=f"badge {badge}").exists()


def test_each_further_wrong_pin_shuts_for_twice_as_long_up_to_an_hour(everybody: Cast, clock) -> None:
    badge = everybody["technician"].badge
    fail(badge, 5)
    waits = []
    for _ in range(8):
        shut = PinTries.objects.get(about=f"badge {badge}").shut_until
        waits.append(round((shut - timezone.now()).total_seconds() / 60))
        clock.move_to(shut + timedelta(seconds=1))
        fail(badge, 1)
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60]


def test_four_wrong_pins_and_a_right_one_start_anew(everybody: Cast) -> None:
    badge = everybody["technician"].badge
    for _ in range(3):
        fail(badge, 4)
        assert enter(badge).status_code == 302


def test_a_badge_that_nobody_has_is_shut_as_one_that_somebody_has(everybody: Cast) -> None:
    nobody = codes.make("B", 99)
    fail(nobody, 5)
    assert SHUT in words(enter(nobody))


def test_an_address_is_shut_after_twenty_whatever_the_badge_and_others_are_not(everybody: Cast) -> None:
    for number in range(20):
        fail(codes.make("B", 500 + number), 1, REMOTE_ADDR="10.0.0.9")
    assert SHUT in words(enter(everybody["technician"].badge, REMOTE_ADDR="10.0.0.9"))
    assert enter(everybody["technician"].badge, REMOTE_ADDR="10.0.0.10").status_code == 302


def test_behind_our_proxy_the_address_is_the_one_it_added(everybody: Cast, settings) -> None:
    settings.IS_BEHIND_PROXY = True
    fail(codes.make("B", 7), 1, HTTP_X_FORWARDED_FOR="1.1.1.1, 10.0.0.77")
    assert PinTries.objects.filter(about="address 10.0.0.77").exists()
    settings.IS_BEHIND_PROXY = False
    fail(codes.make("B", 7), 1, HTTP_X_FORWARDED_FOR="1.1.1.1, 10.0.0.78")
    assert not PinTries.objects.filter(about="address 10.0.0.78").exists()


def test_the_lock_and_a_signature_count_as_the_door_does(everybody: Cast, walked: Hands) -> None:
    person = everybody["pharmacist"]
    phone = sign_in(person)
    for _ in range(2):
        assert phone.post(reverse("lock"), {"pin": "0000"}).status_code == 409
    for _ in range(3):
        with pytest.raises(WrongPin):
            run.release(code=walked.code, person=person, key=key(), pin="0000")
    with pytest.raises(TooManyTries) as refused:
        run.release(code=walked.code, person=person, key=key(), pin=PIN)
    assert refused.value.sentence.startswith(SHUT)
    assert SHUT in words(phone.post(reverse("lock"), {"pin": PIN}))
    assert walked.preparation.state == "handed-over"


def test_a_supervisor_unlocks_and_it_is_kept_who(everybody: Cast) -> None:
    person, desk = everybody["technician"], sign_in(everybody["supervisor"])
    fail(person.badge, 5)
    assert "Shut after wrong PINs" in words(desk.get(reverse("list_people")))
    assert desk.post(reverse("unlock", args=[person.pk])).url == reverse("list_people")
    assert enter(person.badge).status_code == 302
    said = words(desk.get(reverse("list_people")))
    for what in ("shut after too many wrong PINs", "wrong PIN", "unlocked Edda Solheim Mara Okonjo"):
        assert what in said
    assert PIN not in said


def test_events_are_logged_without_badge_pin_or_name(everybody: Cast, caplog) -> None:
    person = everybody["technician"]
    fail(person.badge, 1)
    assert f"wrong PIN (person {person.pk}, from 127.0.0.1)" in caplog.text
    assert not {person.badge, person.name, "0000"} & set(caplog.text.split())


def test_signing_out_everywhere_ends_every_session_of_that_person_alone(everybody: Cast) -> None:
    person = everybody["technician"]
    tablet, phone, other = sign_in(person), sign_in(person), sign_in(everybody["second technician"])
    assert tablet.post(reverse("sign_out_everywhere")).url == reverse("sign_in")
    for browser, status in ((tablet, 302), (phone, 302), (other, 200)):
        assert browser.get(reverse("to_make")).status_code == status
    again = sign_in(Person.objects.get(pk=person.pk))
    desk = sign_in(everybody["supervisor"])
    assert desk.post(reverse("end_sessions", args=[person.pk])).status_code == 302
    assert again.get(reverse("to_make")).status_code == 302


def change(browser: Client, present: str = PIN, new: str = "9753", again: str | None = None):
    typed = {"present": present, "new": new, "again": new if again is None else again}
    return browser.post(reverse("you"), typed)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"present": "0000"}, "The PIN is not right. Type it again."),
        ({"again": "9754"}, "The two new PINs are not alike."),
        ({"new": "975"}, "Write at least 4 digits, and nothing else."),
        ({"new": "97a3"}, "Write at least 4 digits, and nothing else."),
        ({"new": "٩٧٥٣"}, "Write at least 4 digits, and nothing else."),
        ({"new": "9" * 65}, "Write at least 4 digits, and nothing else."),
        ({"new": "7777"}, "This PIN is guessed at once"),
        ({"new": "3456"}, "This PIN is guessed at once"),
        ({"new": "6543"}, "This PIN is guessed at once"),
        ({"new": PIN}, "You had this PIN before. Choose one that is none of your last 5."),
    ],
)
def test_a_new_pin_that_cannot_be_taken_is_told_why(
    everybody: Cast, typed: dict[str, str], told: str
) -> None:
    answer = change(sign_in(everybody["technician"]), **typed)
    assert answer.status_code == 409
    assert told in words(answer)
    assert Person.objects.get(pk=everybody["technician"].pk).check_password(PIN)


def test_a_new_pin_is_taken_other_devices_are_signed_out_and_none_of_the_last_five_comes_back(
    everybody: Cast,
) -> None:
    tablet, other = sign_in(everybody["technician"]), sign_in(everybody["technician"])
    present = PIN
    for new in ("9753", "8642", "1593", "7531"):
        assert change(tablet, present, new).status_code == 302
        present = new
    assert other.get(reverse("to_make")).status_code == 302
    assert tablet.get(reverse("to_make")).status_code == 200
    assert change(tablet, present, PIN).status_code == 409
    assert change(tablet, present, "8520").status_code == 302
    assert change(tablet, "8520", PIN).status_code == 302


@pytest.mark.parametrize("why", ["too old", "given by somebody else"])
def test_a_pin_that_is_due_is_changed_before_anything_else(everybody: Cast, why: str) -> None:
    person = everybody["technician"]
    since = None if why == "given by somebody else" else timezone.now() - timedelta(days=181)
    Person.objects.filter(pk=person.pk).update(pin_set_at=since)
    tablet = Client()
    assert enter(person.badge, browser=tablet).status_code == 302
    assert tablet.get(reverse("to_make")).url == f"{reverse('you')}?next=%2Fmake%2F"
    assert tablet.post(reverse("resume", args=["PXXXXXXXX"])).status_code == 302
    assert "Choose a PIN of your own before you go on." in words(tablet.get(reverse("you")))
    assert change(tablet).status_code == 302
    assert tablet.get(reverse("to_make")).status_code == 200


def test_no_age_is_asked_of_a_pin_where_the_site_says_so(everybody: Cast, settings) -> None:
    person, settings.PIN_DAYS = everybody["technician"], 0
    person.pin_set_at = timezone.now() - timedelta(days=9999)
    assert not run.is_due(person)


def upkeep(person: Person | None, **changes: str) -> PersonForm:
    fields = {"name": "Noor Haddad", "role": "technician", "badge": "", "is_active": "on", "pin": ""}
    if person:
        fields |= {"name": person.name, "role": person.role, "badge": person.badge}
    return PersonForm(fields | changes, instance=person)


def test_a_badge_is_never_given_out_again_and_what_was_signed_with_it_stands(
    everybody: Cast, walked: Hands
) -> None:
    person = Person.objects.get(pk=walked.technician.pk)
    old, new = person.badge, codes.make("B", 4242)
    form = upkeep(person, badge=new)
    assert form.is_valid(), form.errors
    form.save()
    assert first_fault(walked.preparation) is None
    assert enter(old).status_code == 409
    assert enter(new).status_code == 302
    for whom in (None, person, Person.objects.get(pk=everybody["pharmacist"].pk)):
        form = upkeep(whom, badge=old, pin="9753")
        assert "This badge was given out before" in str(form.errors["badge"])


def test_a_pin_given_on_the_upkeep_pages_is_due_and_keeps_the_rules(everybody: Cast) -> None:
    form = upkeep(None, pin="9753")
    assert form.is_valid(), form.errors
    assert run.is_due(form.save())
    assert "guessed at once" in str(upkeep(None, pin="1111").errors["pin"])
    assert "You had this PIN before" in str(upkeep(everybody["technician"], pin=PIN).errors["pin"])


def test_the_upkeep_pages_have_no_door_of_their_own(everybody: Cast) -> None:
    assert Client().get("/upkeep/login/").url == "/sign-in/?next=/upkeep/"
    told = {"username": everybody["supervisor"].badge, "password": PIN}
    assert Client().post("/upkeep/login/", told).status_code == 302
    assert sign_in(everybody["supervisor"]).get("/upkeep/password_change/").url == "/you/"


def test_a_signature_shows_who_when_and_what_it_means_and_the_record_keeps_it(
    everybody: Cast, walked: Hands
) -> None:
    phone = sign_in(everybody["pharmacist"])
    page = words(phone.get(reverse("check", args=[walked.code, walked.step.place])))
    now = timezone.localtime()
    meaning = "I have checked this preparation and release it for this order."
    assert f"{meaning} Ilse Varga , pharmacist · {now.day} {now:%b %Y} " in page
    walked.release()
    record = words(phone.get(reverse("record", args=[walked.code])))
    assert f"meaning {meaning}" in record
