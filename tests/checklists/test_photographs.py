"""Draws shown by photograph: seen by those who may, kept with the record, and never instead of the reading.

Source: shared design 1, line 8 (Show), and design 4 (the checker's phone). The rest: the project's own rule.
"""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse

from cast import Cast, Hands, key
from checklists import darkroom, run
from checklists.audit import first_fault
from checklists.independence import disclose, readable
from checklists.models import Photograph
from checklists.refusals import NoSuchPhotograph, NotAPicture, OnHold, OutOfOrder, PhotographWanted
from compounding.formulary.policy import change_policy
from tests.checklists.test_darkroom import picture
from tests.checklists.walks import everything, past_the_guard, sign_in, words


def take(work: Hands, sent: bytes | None = None, once_by: str = "") -> None:
    run.photograph(
        code=work.code,
        person=work.technician,
        key=once_by or key(),
        place=work.step.place,
        picture=picture() if sent is None else sent,
    )


def ask_anew(work: Hands, wants: str, who: str = "pharmacist") -> None:
    run.ask_anew(code=work.code, person=work.cast[who], key=key(), place=work.step.place, wants=wants)


def check_page(work: Hands, who: str = "pharmacist") -> str:
    answer = sign_in(work.cast[who]).get(reverse("check", args=[work.code, work.step.place]))
    assert answer.status_code == 200
    return answer.content.decode()


def files() -> int:
    from django.conf import settings

    return len(list(settings.MEDIA_ROOT.glob("*")))


def test_a_photograph_is_kept_with_its_digest_in_the_record(everybody: Cast, shown: Hands) -> None:
    take(shown)
    kept = Photograph.objects.get()
    assert (kept.draws, kept.attempts, kept.taken_by) == ([2], [1], shown.technician)
    facts = json.loads(shown.preparation.entries.get(act="photograph").text)["facts"]
    assert facts["sha256"] == kept.sha256 == darkroom.digest(darkroom.read_back(kept.file))
    assert "17.5" not in shown.preparation.entries.get(act="photograph").text


def test_sent_twice_it_is_kept_once(everybody: Cast, shown: Hands) -> None:
    before = files()
    for _ in range(2):
        take(shown, once_by="the same press")
    assert Photograph.objects.count() == 1
    assert files() == before + 1


def test_what_is_refused_leaves_no_file_and_no_row(everybody: Cast, shown: Hands) -> None:
    before, count = everything(), files()
    with pytest.raises(NotAPicture):
        take(shown, b"<svg/>")
    assert (everything(), files()) == (before, count)


def test_only_at_the_showing_that_the_work_has_come_to(everybody: Cast, shown: Hands) -> None:
    with pytest.raises(OutOfOrder):
        run.photograph(
            code=shown.code, person=shown.technician, key=key(), place=shown.step.place - 1, picture=picture()
        )
    run.raise_hold(code=shown.code, person=shown.technician, key=key(), note="not sure")
    with pytest.raises(OnHold):
        take(shown)


def test_the_checker_sees_it_above_the_keypad_and_types_as_blind_as_ever(
    everybody: Cast, shown: Hands
) -> None:
    assert not any(
        words in check_page(shown) for words in (f"/photograph/{shown.code}/", "cannot read the photograph")
    )
    take(shown)
    page = check_page(shown)
    url = reverse("photograph", args=[shown.code, Photograph.objects.get().pk])
    assert page.index(f'src="{url}"') < page.index('name="volume"')
    assert "17.5" not in page
    shown.do()
    shown.to_release()
    assert shown.preparation.state == "released"


@pytest.mark.parametrize(
    ("who", "may"),
    [
        ("technician", True),
        ("second technician", False),
        ("pharmacist", True),
        ("third pharmacist", True),
        ("supervisor", False),
    ],
)
def test_it_is_served_to_those_who_may_see_it_and_kept_by_no_browser(
    everybody: Cast, shown: Hands, who: str, may: bool
) -> None:
    take(shown)
    kept = Photograph.objects.get()
    person = shown.technician if who == "technician" else everybody[who]
    answer = sign_in(person).get(reverse("photograph", args=[shown.code, kept.pk]))
    assert answer.status_code == (200 if may else 409)
    if may:
        assert answer["Content-Type"] == "image/jpeg"
        assert answer["Cache-Control"] == "private, no-store"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert kept.file not in str(answer.headers)
        assert answer.content == darkroom.read_back(kept.file)


def test_after_the_end_it_is_served_to_whoever_reads_the_record(everybody: Cast, shown: Hands) -> None:
    take(shown)
    where = reverse("photograph", args=[shown.code, Photograph.objects.get().pk])
    shown.do()
    assert sign_in(everybody["third pharmacist"]).get(where).status_code == 409
    record = sign_in(everybody["supervisor"]).get(reverse("record", args=[shown.code]))
    assert "Shown here once the preparation has ended." in words(record)
    shown.to_release()
    for who in ("second technician", "pharmacist", "third pharmacist", "supervisor"):
        assert sign_in(everybody[who]).get(where).status_code == 200, who


def test_whoever_was_shown_the_amounts_does_not_see_it_at_the_check(everybody: Cast, shown: Hands) -> None:
    take(shown)
    where = reverse("photograph", args=[shown.code, Photograph.objects.get().pk])
    run.raise_hold(code=shown.code, person=shown.technician, key=key(), note="a drop beside the plunger")
    hold = shown.preparation.holds.get()
    disclose(shown.preparation, [2], everybody["third pharmacist"], hold.opened_at)
    shown.resolve("carry-on")
    assert sign_in(everybody["third pharmacist"]).get(where).status_code == 409
    assert sign_in(everybody["pharmacist"]).get(where).status_code == 200


def test_a_photograph_of_another_preparation_is_not_found(
    everybody: Cast, shown: Hands, walked: Hands
) -> None:
    take(shown)
    where = reverse("photograph", args=[walked.code, Photograph.objects.get().pk])
    assert sign_in(everybody["supervisor"]).get(where).status_code == 409


@pytest.mark.parametrize(
    ("wants", "says"), [("again", "take another"), ("in-person", "comes to read in person")]
)
def test_one_that_cannot_be_read_is_taken_anew_or_read_in_person(
    everybody: Cast, shown: Hands, wants: str, says: str
) -> None:
    take(shown)
    ask_anew(shown, wants)
    assert not readable(shown.step, shown.preparation)
    tablet = sign_in(shown.technician).get(reverse("step", args=[shown.code]))
    assert says in words(tablet)
    assert "data-enlarge" not in check_page(shown)
    take(shown)
    assert len(readable(shown.step, shown.preparation)) == 1
    shown.see(shown.step, 2, "17.5")
    assert not shown.preparation.holds.exists(), "whoever could not read it is as blind as before"


def test_without_a_photograph_there_is_none_to_be_unreadable(everybody: Cast, shown: Hands) -> None:
    with pytest.raises(NoSuchPhotograph):
        ask_anew(shown, "again")
    take(shown)
    with pytest.raises(NoSuchPhotograph):
        ask_anew(shown, "guess")


def test_a_syringe_drawn_anew_is_not_read_off_the_old_photograph(everybody: Cast, shown: Hands) -> None:
    take(shown)
    run.report_mishap(code=shown.code, person=shown.technician, key=key(), reason="dropped-syringe")
    shown.checker = everybody["second pharmacist"]
    shown.to("show")
    while not (shown.step.kind == "show" and 2 in shown.step.about["draws"]):
        shown.do()
    assert "data-enlarge" not in check_page(shown, "third pharmacist")


def test_a_site_may_want_a_photograph_of_every_draw(everybody: Cast, shown: Hands) -> None:
    change_policy(reason="agreed", by="test", wants_photograph=True)
    with pytest.raises(PhotographWanted):
        shown.see(shown.step, 2, "17.5")
    take(shown)
    ask_anew(shown, "again")
    with pytest.raises(PhotographWanted):
        shown.see(shown.step, 2, "17.5")
    take(shown)
    ask_anew(shown, "in-person")
    shown.see(shown.step, 2, "17.5")


@pytest.mark.parametrize("harm", ["changed", "missing", "row"])
def test_the_verifier_and_the_gate_find_a_photograph_that_is_not_as_it_was_kept(
    everybody: Cast, shown: Hands, harm: str
) -> None:
    take(shown)
    assert first_fault(shown.preparation) is None
    kept = Photograph.objects.get()
    if harm == "changed":
        darkroom._path(kept.file).write_bytes(picture(801))
    elif harm == "missing":
        darkroom.throw_away(kept.file)
    else:
        with past_the_guard():
            Photograph.objects.update(sha256="0" * 64)
    fault = first_fault(shown.preparation)
    assert fault.number == shown.preparation.entries.get(act="photograph").number
    assert "photograph" in fault.what
    with pytest.raises(CommandError):
        call_command("verify_records", shown.code)


def test_the_record_prints_it(everybody: Cast, shown: Hands) -> None:
    take(shown)
    shown.to_release()
    page = sign_in(everybody["supervisor"]).get(reverse("record", args=[shown.code])).content.decode()
    assert f'src="{reverse("photograph", args=[shown.code, Photograph.objects.get().pk])}"' in page


def test_the_tablets_form_takes_a_file_and_says_what_is_wrong_with_it(everybody: Cast, shown: Hands) -> None:
    tablet = sign_in(shown.technician)
    where = reverse("camera", args=[shown.code, shown.step.place])
    assert tablet.get(where).status_code == 200
    answer = tablet.post(where, {"picture": SimpleUploadedFile("scale.jpg", b"MZ not a picture")})
    assert answer.status_code == 409
    assert "Send a JPEG, PNG or WebP file" in words(answer)
    assert tablet.post(where).status_code == 409
    answer = tablet.post(where, {"picture": SimpleUploadedFile("x.exe", picture(kind="PNG"))})
    assert answer.status_code == 302
    assert Photograph.objects.count() == 1
