"""Who may, by what they are to the very preparation: at work on it, once at it, its checker, a stranger, its
maker who was promoted since. The table is the rule, the code is compared with it. Roles, methods and
nobody signed in: test_permissions.

Source: shared design 1 – a checker made no part of it, whoever took up paused work and whoever began it are
both its makers. The rest is the project's own rule.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from cast import PIN, Cast, Hands, hands, key, order, stock_batch
from checklists import independence, run
from checklists.models import Person, Photograph
from tests.checklists.test_darkroom import picture
from tests.checklists.test_independence import as_pharmacist, pass_on
from tests.checklists.walks import UNLIKELY, at_drug_show, beside, everything, sign_in, undone
from tests.views.test_permissions import EVERYBODY, MAY, PATTERNS

AT_WORK, ONCE, OTHER = "at work on it", "once at work on it", "another technician"
CHECKER, STRANGER, PROMOTED = "checker of it", "another pharmacist", "its maker, a pharmacist since"
SUPERVISOR, RISEN = "supervisor", "its maker, a supervisor since"
TECHNICIANS = {AT_WORK, ONCE, OTHER}
PHARMACISTS = {CHECKER, STRANGER, PROMOTED}
SUPERVISORS = {SUPERVISOR, RISEN}
RELATIONS = (AT_WORK, ONCE, OTHER, CHECKER, STRANGER, PROMOTED, SUPERVISOR, RISEN)
INDEPENDENT = {CHECKER, STRANGER}


@dataclass(frozen=True)
class Row:
    """At which stage an address about a preparation is asked for, who may, and a form that is in order."""

    stage: str
    may: set[str]
    form: Callable[[], dict[str, Any]] | None = None
    at: str = ""  # the step it is about, where it is not the one the work has come to


def form(**fields: Any) -> Callable[[], dict[str, Any]]:
    return lambda: fields


STATED = form(as_ordered="1", clear="1", sound="1", used="1")
TABLE: dict[str, Row] = {
    "step": Row("making", TECHNICIANS),  # the others are told whose it is: the test below
    "poll_step": Row("making", TECHNICIANS),
    "finish_step": Row("making", {AT_WORK}, form(reason="the test does not wait")),
    "something_wrong": Row("making", {AT_WORK}),
    "something_else": Row("making", {AT_WORK}),
    "mishap": Row("making", {AT_WORK}),
    "report_mishap": Row("making", {AT_WORK}, form()),
    "raise_hold": Row("making", {AT_WORK}, form(reason="the stopper is cored")),
    "pause": Row("making", {AT_WORK}, form(reason="end of shift")),
    "abandon": Row("making", {AT_WORK}, form(reason="spilled")),
    "choose_unit": Row("batch", {AT_WORK}),
    "reject_unit": Row("batch", {AT_WORK}, form(which="1", reason="dropped")),
    "print_labels": Row("making", {AT_WORK}, form(reason="smudged")),
    "clear_hood": Row("paused", TECHNICIANS, form()),
    "resume": Row("paused", {ONCE, OTHER, AT_WORK}, form()),
    "leave_hood": Row("shown", {AT_WORK}, form()),
    "camera": Row("shown", {AT_WORK}, lambda: {"picture": SimpleUploadedFile("a.jpg", picture())}),
    "photograph": Row("shown", {AT_WORK, ONCE, *INDEPENDENT}),
    "cannot_read_photograph": Row("shown", INDEPENDENT, form(wants="again")),
    "check": Row("shown", INDEPENDENT),
    "take_check": Row("shown", INDEPENDENT, form()),
    "sight_draw": Row("shown", INDEPENDENT, form(draw="2", volume="17.5")),
    "cannot_read": Row("shown", INDEPENDENT, form(draw="2", reason="a bubble stands at the mark")),
    "refuse_check": Row("shown", INDEPENDENT, form(reason="the syringe is not capped")),
    "recalculate": Row("first check", INDEPENDENT, form(volume_1="20", volume_2="17.3", materials="1")),
    "committed": Row("shown", {CHECKER}, at="first_check"),
    "inspect": Row("final check", INDEPENDENT, STATED),
    "release": Row("release", INDEPENDENT, form(pin=PIN)),
    "hold": Row("held", INDEPENDENT),
    "see_hold": Row("held", INDEPENDENT, form()),
    "resolve_hold": Row("held", INDEPENDENT, form(resolution="carry-on", reason="wiped and seen", pin=PIN)),
    "label": Row("making", {*TECHNICIANS, *SUPERVISORS}),  # pharmacists are blind until all is read
    "record": Row("release", {*TECHNICIANS, *PHARMACISTS, *SUPERVISORS}),
    "amend": Row("release", {*PHARMACISTS, *SUPERVISORS}, form(entry="1", words="the ward is 7", pin=PIN)),
    "finished_one": Row("making", SUPERVISORS),
}
#: What is about an opened container and nobody's preparation, or has its relations told in tests of its own:
#: waste in test_controlled, going on without a network in test_steps_ahead, codes in test_find, one unit of a
#: batch in test_one_unit.
TOLD_APART = {
    *("opened_label", "discard_container", "account_for_waste"),
    *("steps_ahead", "keep_step", "find_code", "reject_inspected"),
}


@dataclass
class Stages:
    """A preparation passed on by its first maker, at every stage that the table asks for."""

    house: Cast
    shown: Hands
    others: dict[str, Hands]


@pytest.fixture(scope="module")
def stages(house: Cast) -> Stages:
    shown = at_drug_show(_passed_on(house, UNLIKELY))
    run.photograph(
        code=shown.code, person=shown.technician, key=key(), place=shown.step.place, picture=picture()
    )
    others = {
        "first check": _passed_on(house, UNLIKELY),
        "making": _passed_on(house, "1100 mg").to("wipe_items"),
        "final check": _passed_on(house, "1100 mg").to("final_check"),
        "release": _passed_on(house, "1100 mg").to("release"),
    }
    return Stages(house, shown, others)


def _passed_on(house: Cast, dose: str) -> Hands:
    """Begin as one technician of its own, go on as another."""
    first = beside(house, order("vancomycin-nacl-250", dose))
    first.to("first_check")
    second = Person.objects.create_user(
        badge=f"BX{first.technician.pk:07}", name=f"Second {first.code}", role="technician", pin=PIN
    )
    first.cast.people["once"] = pass_on(first, second)
    return first.to("first_check")


def at(stages: Stages, name: str) -> Hands:
    """Return the work at a stage; what is done to get there is undone with the test."""
    if name in stages.others:
        return stages.others[name]
    if name == "batch":
        batch = hands(stages.house, stock_batch())
        batch.cast.people["once"] = pass_on(batch, stages.house["second technician"])
        return batch.to("draw_units")
    if name == "paused":
        work = stages.others["making"]
        run.pause(code=work.code, person=work.technician, key=key(), reason="end of shift")
        return work
    if name == "held":
        run.raise_hold(
            code=stages.shown.code, person=stages.shown.technician, key=key(), note="a drop on the deck"
        )
    return stages.shown


def person(work: Hands, relation: str) -> Person:
    """Return somebody who is that to the preparation."""
    first = work.cast["once"]
    if relation == OTHER:
        return Person.objects.create_user(badge="BZ0000001", name="Nobody yet", role="technician", pin=PIN)
    if relation == PROMOTED:
        return as_pharmacist(first)
    if relation == RISEN:
        Person.objects.filter(pk=first.pk).update(role="supervisor")
        return Person.objects.get(pk=first.pk)
    return {
        AT_WORK: work.technician,
        ONCE: first,
        CHECKER: work.checker,
        STRANGER: work.cast["third pharmacist"],
        SUPERVISOR: work.cast["supervisor"],
    }[relation]


def where(name: str, row: Row, work: Hands) -> str:
    step = work.preparation.steps.filter(kind=row.at).first() if row.at else work.step
    hold, shot = (
        work.preparation.holds.first(),
        Photograph.objects.filter(preparation=work.preparation).first(),
    )
    about = hold if "hold" in name else shot
    facts = {"code": work.code, "place": step.place, "reason": "called-away", "number": about and about.pk}
    return reverse(name, kwargs={part: facts[part] for part in PATTERNS[name].pattern.converters})


def test_every_address_about_a_preparation_is_in_the_table() -> None:
    about = {name for name in MAY if "code" in PATTERNS[name].pattern.converters}
    assert set(TABLE) == about - TOLD_APART


def test_the_two_tables_do_not_contradict_each_other() -> None:
    of_role = dict(zip(EVERYBODY, (TECHNICIANS, PHARMACISTS, SUPERVISORS), strict=True))
    for name, row in TABLE.items():
        assert row.may <= set().union(*(of_role[role] for role in MAY[name][0])), name


def answers(name: str, row: Row, work: Hands, relation: str) -> Iterator[tuple[str, Any]]:
    """Ask by every method the address has."""
    browser, target = sign_in(person(work, relation)), where(name, row, work)
    before = everything() if relation not in row.may else None
    for method in MAY[name][1]:
        sent = row.form() if method == "POST" and row.form else {}
        yield method, browser.post(target, sent) if method == "POST" else browser.generic(method, target)
    assert before is None or everything() == before, relation


@pytest.mark.parametrize("name", TABLE)
def test_the_relation_decides_as_the_table_says(everybody: Cast, stages: Stages, name: str) -> None:
    row = TABLE[name]
    work = at(stages, row.stage)
    for relation in RELATIONS:
        with undone():
            for method, answer in answers(name, row, work, relation):
                expected = (200, 302) if relation in row.may else (403, 409)
                assert answer.status_code in expected, (relation, method, answer.content)


def test_a_technician_who_is_not_at_it_is_told_whose_it_is_and_gets_no_press(
    everybody: Cast, stages: Stages
) -> None:
    work = stages.others["making"]
    for relation in (ONCE, OTHER):
        with undone():
            page = sign_in(person(work, relation)).get(reverse("step", args=[work.code])).content.decode()
            assert work.technician.name in page
            assert f'action="{reverse("finish_step", args=[work.code, work.step.place])}"' not in page


def test_whoever_began_and_whoever_took_over_are_both_makers(everybody: Cast, stages: Stages) -> None:
    for work in (stages.shown, *stages.others.values()):
        makers = {work.technician.pk, work.cast["once"].pk}
        assert independence.makers(work.preparation) == makers
        assert work.technician != work.cast["once"]
