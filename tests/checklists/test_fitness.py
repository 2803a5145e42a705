"""Who may come to a hood, and what is recorded of people and rooms. Intervals: USP <797> (2023), memory."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.utils import timezone

from cast import Cast, Hands, key, order
from checklists import run
from checklists.fitness import SOON_DAYS, Standing, held, in_the_way, limits, months_later
from checklists.models import Duty, Qualification, QualificationKind
from checklists.refusals.fitness import (
    NoSuchDay,
    NotANumberRead,
    NothingTicked,
    NotQualified,
    NotQualifying,
    OutsideLimits,
)
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside


def asked(**more: object) -> QualificationKind:
    return QualificationKind.objects.create(code="media-fill", name="Media fill", months=6, **more)


def record(house: Cast, work: Hands, kind: QualificationKind, days_ago: int = 0, passed: str = "yes") -> None:
    told = {
        "on": (timezone.localdate() - timedelta(days=days_ago)).isoformat(),
        "passed": passed,
        "result": "turbid" if passed == "no" else "",
    }
    run.qualify(person=work.technician, kind=kind, told=told, by=house["supervisor"], key=key())


@pytest.fixture
def at_the_hood(everybody: Cast) -> Hands:
    return beside(everybody, order("ketorolac-syringe", "30 mg")).to("identify_hood")


def test_where_nothing_is_asked_everybody_comes_in(at_the_hood: Hands) -> None:
    at_the_hood.do()
    assert at_the_hood.preparation.hood is not None


def test_without_a_standing_qualification_nobody_comes_in(everybody: Cast, at_the_hood: Hands) -> None:
    kind = asked()
    with pytest.raises(NotQualified, match="Media fill missing") as told:
        at_the_hood.do()
    assert at_the_hood.technician.name in str(told.value)
    assert at_the_hood.preparation.hood is None
    record(everybody, at_the_hood, kind)
    at_the_hood.do()
    assert at_the_hood.preparation.hood is not None


def test_on_its_last_day_it_stands_and_on_the_next_it_has_lapsed(everybody: Cast, at_the_hood: Hands) -> None:
    kind, who = asked(), at_the_hood.technician
    record(everybody, at_the_hood, kind)
    last = who.qualifications.get().until
    assert last == months_later(timezone.localdate(), 6)
    assert in_the_way(who, last, hazardous=False) == ()
    (found,) = in_the_way(who, last + timedelta(days=1), hazardous=False)
    assert found.standing is Standing.LAPSED


def test_a_test_that_was_not_passed_ends_the_one_before(everybody: Cast, at_the_hood: Hands) -> None:
    kind = asked()
    record(everybody, at_the_hood, kind, days_ago=10)
    record(everybody, at_the_hood, kind, passed="no")
    with pytest.raises(NotQualified, match="Media fill not passed"):
        at_the_hood.do()


def test_the_latest_day_counts_not_the_latest_entry(everybody: Cast, at_the_hood: Hands) -> None:
    kind = asked()
    record(everybody, at_the_hood, kind)
    record(everybody, at_the_hood, kind, days_ago=100, passed="no")
    assert in_the_way(at_the_hood.technician, timezone.localdate(), hazardous=False) == ()


def test_what_is_for_hazardous_work_only_is_asked_there_only(everybody: Cast) -> None:
    asked(only_hazardous=True)
    beside(everybody, order("ketorolac-syringe", "30 mg")).to("wipe_surface")
    with pytest.raises(NotQualified):
        beside(everybody, order("fluorouracil-nacl-500", "800 mg")).to("wipe_surface")


def test_nobody_unqualified_takes_up_what_was_begun_in_a_hood(everybody: Cast, shown: Hands) -> None:
    run.pause(code=shown.code, person=shown.technician, key=key(), reason="called away to a spill")
    kind = asked()
    with pytest.raises(NotQualified):
        run.resume(code=shown.code, person=shown.technician, key=key())
    record(everybody, shown, kind)
    run.resume(code=shown.code, person=shown.technician, key=key())
    assert shown.preparation.state == "in-work"


def test_work_in_the_hood_goes_on_when_it_lapses_meanwhile(everybody: Cast, shown: Hands) -> None:
    kind = asked()
    record(everybody, shown, kind, days_ago=185)
    shown.see(shown.step, 2, "17.5")
    shown.do()
    assert held([shown.technician], timezone.localdate())[0].standing is Standing.LAPSED


def test_it_is_due_soon_for_a_while_before(everybody: Cast, at_the_hood: Hands) -> None:
    kind, who = asked(), at_the_hood.technician
    record(everybody, at_the_hood, kind)
    last = who.qualifications.get().until
    days = {0: Standing.SOON, SOON_DAYS: Standing.SOON, SOON_DAYS + 1: Standing.STANDS}
    for before, standing in days.items():
        assert held([who], last - timedelta(days=before))[0].standing is standing


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2026, 11, 25), 12, date(2027, 11, 25)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
    ],
)
def test_months_end_where_the_calendar_has_a_day(day: date, months: int, then: date) -> None:
    """Read off a calendar."""
    assert months_later(day, months) == then


@pytest.mark.parametrize("on", ["", "25.11.2026", "2026-02-30", "1999-12-31", "3000-01-01", "2026-1"])
def test_a_day_that_is_none_is_refused(everybody: Cast, on: str) -> None:
    kind = asked()
    with pytest.raises(NoSuchDay):
        run.qualify(
            person=everybody["technician"], kind=kind, told={"on": on, "passed": "yes"},
            by=everybody["supervisor"], key=key(),
        )  # fmt: skip
    assert not Qualification.objects.exists()


def test_a_result_of_the_wrong_role_or_without_words_is_refused(everybody: Cast) -> None:
    kind, today = asked(), timezone.localdate().isoformat()
    for who, told in (
        ("pharmacist", {"on": today, "passed": "yes"}),
        ("technician", {"on": today, "passed": "perhaps"}),
        ("technician", {"on": today, "passed": "no"}),
    ):
        with pytest.raises(Refusal):
            run.qualify(person=everybody[who], kind=kind, told=told, by=everybody["supervisor"], key=key())
    with pytest.raises(NotQualifying):
        run.qualify(person=None, kind=kind, told={}, by=everybody["supervisor"], key=key())


def test_what_is_sent_twice_is_recorded_once(everybody: Cast) -> None:
    kind, told = asked(), {"on": timezone.localdate().isoformat(), "passed": "yes"}
    for _ in range(2):
        run.qualify(
            person=everybody["technician"], kind=kind, told=told, by=everybody["supervisor"], key="once"
        )
    assert Qualification.objects.count() == 1


@pytest.fixture
def fridge(everybody: Cast) -> Duty:
    return Duty.objects.create(
        name="Fridge", kind="temperature", every_hours=12, unit="°C", least=2, most=8, tasks="Door shut"
    )


def read(
    fridge: Duty, house: Cast, value: str, note: str = "", ticked: tuple[str, ...] = ("Door shut",)
) -> None:
    run.do_duty(duty=fridge, ticked=ticked, value=value, note=note, person=house["technician"], key=key())
    fridge.refresh_from_db()


def test_a_reading_is_kept_with_who_and_when(everybody: Cast, fridge: Duty) -> None:
    with time_machine.travel(timezone.now(), tick=False):
        read(fridge, everybody, "4.5")
        done = fridge.done.get()
        assert (str(done.value), done.is_right, done.at) == ("4.50", True, timezone.now())
    assert limits(fridge) == "2 to 8 °C"


def test_a_reading_outside_needs_a_note_and_is_kept_as_not_right(everybody: Cast, fridge: Duty) -> None:
    fridge.refresh_from_db()
    with pytest.raises(OutsideLimits, match="outside 2 to 8 °C"):
        read(fridge, everybody, "9.2")
    read(fridge, everybody, "9.2", note="door ajar; pharmacist told")
    assert not fridge.done.get().is_right


@pytest.mark.parametrize(
    "typed", ["", "4,5", "4.5 °C", "x", "1e1", ".5", "5.", "--4", "٤", "9" * 20, "4.5.1"]
)
def test_a_reading_is_not_guessed_at(everybody: Cast, fridge: Duty, typed: str) -> None:
    with pytest.raises(NotANumberRead):
        read(fridge, everybody, typed)
    assert not fridge.done.exists()


def test_a_minus_may_be_typed_or_printed(everybody: Cast, fridge: Duty) -> None:
    Duty.objects.filter(pk=fridge.pk).update(least=-25, most=-10)
    fridge.refresh_from_db()
    for typed in ("-18", "−18.5"):
        read(fridge, everybody, typed)
    assert [float(one.value) for one in fridge.done.all()] == [-18, -18.5]


def test_what_is_not_ticked_needs_a_note(everybody: Cast, fridge: Duty) -> None:
    with pytest.raises(NothingTicked, match="Door shut"):
        read(fridge, everybody, "5", ticked=())
    read(fridge, everybody, "5", ticked=("made up",), note="the lock is broken, works told")
    done = fridge.done.get()
    assert (done.ticked, done.is_right) == ([], False)


def test_the_database_keeps_no_fault_without_its_note(everybody: Cast, fridge: Duty) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        fridge.done.create(is_right=False, person=everybody["technician"], at=timezone.now(), key="x")
