"""Nobody checks their own work: not after a pause, a take-over or a change of role (shared design 1)."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cast import PIN, Cast, Hands, key
from checklists import independence, run
from checklists.models import Person
from checklists.refusals import NotIndependent, NotReleasable
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import everything


def as_pharmacist(person: Person) -> Person:
    """Return the same person after they became a pharmacist."""
    Person.objects.filter(pk=person.pk).update(role="pharmacist")
    return Person.objects.get(pk=person.pk)


def pass_on(work: Hands, to: Person) -> Person:
    """Pause the work and have another technician take it up; return the first."""
    first = work.technician
    run.pause(code=work.code, person=first, key=key(), reason="end of shift")
    run.resume(code=work.code, person=to, key=key())
    work.technician = to
    return first


@pytest.fixture
def passed_on(everybody: Cast, at_first_check: Hands) -> tuple[Hands, Person, Person]:
    """A preparation at its first check, with its first and second maker, both pharmacists by now."""
    work = Hands(
        at_first_check.cast, at_first_check.order, at_first_check.technician, everybody["pharmacist"]
    )
    work.code = at_first_check.code
    first = pass_on(work, everybody["second technician"])
    return work, as_pharmacist(first), as_pharmacist(everybody["second technician"])


def test_both_technicians_of_a_taken_over_preparation_are_its_makers(
    passed_on: tuple[Hands, Person, Person],
) -> None:
    work, first, second = passed_on
    assert independence.makers(work.preparation) == {first.pk, second.pk}
    assert not independence.is_maker(work.preparation, work.checker)


ACTS: dict[str, Callable[[Hands, Person], object]] = {
    "the first check": lambda work, person: run.recalculate(
        code=work.code,
        person=person,
        key=key(),
        place=work.step.place,
        volumes={1: "20", 2: "17.3"},
        has_seen_materials=True,
    ),
    "taking a check": lambda work, person: run.take_check(
        code=work.code, person=person, key=key(), place=work.step.place
    ),
    "refusing a check": lambda work, person: run.refuse_check(
        code=work.code, person=person, key=key(), place=work.step.place, reason="no"
    ),
    "a reading": lambda work, person: run.sight_draw(
        code=work.code, person=person, key=key(), place=work.step.place, draw=1, typed="20"
    ),
    "the final check": lambda work, person: run.inspect(
        code=work.code, person=person, key=key(), place=work.step.place, stated={}
    ),
    "opening a hold": lambda work, person: run.see_hold(code=work.code, person=person, key=key(), hold=1),
    "seeing amounts": lambda work, person: run.see_compared(
        code=work.code, person=person, key=key(), place=work.step.place
    ),
    "resolving a hold": lambda work, person: run.resolve(
        code=work.code, person=person, key=key(), hold=1, resolution="discard", reason="no", pin=PIN
    ),
}


@pytest.mark.parametrize("what", ACTS)
@pytest.mark.parametrize("which", ["first maker", "second maker"])
def test_neither_maker_takes_any_checkers_act(
    passed_on: tuple[Hands, Person, Person], what: str, which: str
) -> None:
    work, person = passed_on[0], passed_on[1 if which == "first maker" else 2]
    before = everything()
    with pytest.raises(NotIndependent) as refused:
        ACTS[what](work, person)
    assert refused.value.sentence == (
        f"{person.name} made a part of this preparation. A pharmacist who made no part of it checks it."
    )
    assert everything() == before


@pytest.mark.parametrize("which", ["first maker", "second maker"])
def test_neither_maker_releases(everybody: Cast, shown: Hands, which: str) -> None:
    work = Hands(shown.cast, shown.order, shown.technician, everybody["pharmacist"], shown.code)
    first = pass_on(work, everybody["second technician"])
    work.to("release")
    maker = as_pharmacist(first if which == "first maker" else everybody["second technician"])
    before = everything()
    with pytest.raises(NotReleasable) as refused:
        work.release(maker)
    assert [reason.sentence for reason in refused.value.reasons] == [
        f"{maker.name} made a part of it and cannot release it."
    ]
    assert everything() == before
    work.release()


@pytest.mark.usefixtures("unguarded")
def test_who_only_finished_one_step_is_a_maker_too(everybody: Cast, at_first_check: Hands) -> None:
    entries = at_first_check.preparation.entries.filter(act="finish")
    entries.filter(number=entries.last().number).update(person=everybody["second technician"])
    assert everybody["second technician"].pk in independence.makers(at_first_check.preparation)


@pytest.mark.usefixtures("unguarded")
def test_who_only_drew_is_a_maker_too(everybody: Cast, shown: Hands) -> None:
    drew = shown.preparation.entries.filter(act="draw").last()
    shown.preparation.entries.filter(pk=drew.pk).update(person=everybody["second technician"])
    assert everybody["second technician"].pk in independence.makers(shown.preparation)


def test_a_checker_is_no_maker_by_checking(everybody: Cast, walked: Hands) -> None:
    assert independence.makers(walked.preparation) == {walked.technician.pk}


def test_a_reader_has_seen_the_draw_that_they_read_and_no_other(everybody: Cast, shown: Hands) -> None:
    preparation, reader = shown.preparation, everybody["pharmacist"]
    assert independence.has_seen(preparation, 1, reader)
    assert not independence.has_seen(preparation, 2, reader)
    assert not independence.has_seen(preparation, 1, everybody["third pharmacist"])


def test_a_pharmacist_cannot_become_a_maker_of_what_they_checked(everybody: Cast, shown: Hands) -> None:
    """A checker who is a technician from now on takes the work up: the gate then refuses everybody."""
    work = Hands(shown.cast, shown.order, shown.technician, everybody["pharmacist"], shown.code)
    Person.objects.filter(pk=everybody["pharmacist"].pk).update(role="technician")
    fallen = Person.objects.get(pk=everybody["pharmacist"].pk)
    pass_on(work, fallen)
    work.checker = everybody["second pharmacist"]
    work.to("release")
    with pytest.raises(NotReleasable) as refused:
        work.release(everybody["third pharmacist"])
    assert [reason.sentence for reason in refused.value.reasons] == [
        "Ilse Varga both made and checked a part of it."
    ]


def test_the_refusals_are_refusals() -> None:
    assert issubclass(NotIndependent, Refusal)
    assert NotIndependent.code == "not-independent"
