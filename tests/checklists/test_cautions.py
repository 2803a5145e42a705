"""A caution lets nobody pass without a pharmacist's recorded reason. Source: the issue's own rule.

Worked by hand: 1,750 mg ÷ 50 mg/mL = 35 mL; diluent 20 mL a vial; usual up to 1,500 mg (invented).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import pytest

from cast import Cast, Hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.gate import blockers, reasons_given
from checklists.models import Preparation
from checklists.refusals import CautionsWithoutReason, ChecksByField, MaterialsNotSeen, NotReleasable
from checklists.worklists.records import record
from tests.checklists.walks import beside, everything

CODE = "dose-above-usual-1"
TEXT = "1,750 mg of vancomycin is more than the usual 1,500 mg."
VOLUMES = {1: "20", 2: "35"}
WHY = "MRSA, trough low; agreed with Dr Abara"


@pytest.fixture
def cautioned(everybody: Cast) -> Hands:
    """A preparation above the usual dose, waiting for its first check."""
    return beside(everybody, order("vancomycin-nacl-500", "1750 mg")).to("first_check")


def check(work: Hands, reasons: Mapping[str, str] | None, who: str = "pharmacist", **more: Any) -> None:
    facts = {"place": work.step.place, "volumes": VOLUMES, "has_seen_materials": True, **more}
    run.recalculate(code=work.code, person=work.cast[who], key=key(), reasons=reasons, **facts)


def facts_of_check(work: Hands) -> dict[str, Any]:
    entry = work.preparation.entries.filter(act="first check").last()
    facts: dict[str, Any] = json.loads(entry.text)["facts"]
    return facts


def test_the_caution_is_frozen_with_the_worksheet(cautioned: Hands) -> None:
    assert [(one.code, one.text) for one in cautioned.worksheet.cautions] == [(CODE, TEXT)]
    opened = json.loads(cautioned.preparation.entries.get(act="open").text)
    assert opened["facts"]["worksheet"]["cautions"] == [{"code": CODE, "text": TEXT}]


@pytest.mark.parametrize(
    ("reasons", "sentence"),
    [
        (None, "Write the reason in a few words"),
        ({}, "Write the reason in a few words"),
        ({CODE: " \r\n\t "}, "Write the reason in a few words"),
        ({"another": WHY}, "Write the reason in a few words"),
        ({CODE: "x" * 501}, "The reason is too long. Write it in at most 500 characters"),
        ({CODE: "so\0"}, "The reason holds a character that cannot be printed"),
    ],
    ids=["nothing", "none", "blank", "of another", "too long", "not printable"],
)
def test_without_a_reason_the_first_check_is_not_taken(
    cautioned: Hands, reasons: dict[str, str] | None, sentence: str
) -> None:
    before = everything()
    with pytest.raises(CautionsWithoutReason) as refused:
        check(cautioned, reasons)
    assert everything() == before
    assert refused.value.sentence.startswith("A caution still needs its reason.")
    assert list(refused.value.by_field) == [f"reason_{CODE}"]
    assert refused.value.by_field[f"reason_{CODE}"].startswith(sentence)


def test_volumes_and_reasons_are_refused_together(cautioned: Hands) -> None:
    with pytest.raises(ChecksByField) as refused:
        check(cautioned, {}, volumes={1: "20", 2: "3,5"})
    assert list(refused.value.by_field) == ["volume_2", f"reason_{CODE}"]
    assert refused.value.sentence == "Some amounts cannot be read. Each says what to write."


def test_a_reason_does_not_stand_in_for_the_materials(cautioned: Hands) -> None:
    with pytest.raises(MaterialsNotSeen):
        check(cautioned, {CODE: WHY}, has_seen_materials=False)


@pytest.mark.parametrize("why", [WHY, "x" * 500, "two\r\nlines"])
def test_the_reason_is_in_the_entry_of_the_first_check(cautioned: Hands, why: str) -> None:
    check(cautioned, {CODE: f"  {why} "})
    kept = why.replace("\r\n", "\n")
    assert facts_of_check(cautioned)["reasons"] == {CODE: kept}
    assert first_fault(cautioned.preparation) is None
    given = reasons_given(cautioned.preparation)
    assert (given.reasons, given.by) == ({CODE: kept}, "Ilse Varga")
    assert cautioned.step.kind == "wipe_items"


def test_a_reason_for_no_caution_is_not_kept(cautioned: Hands) -> None:
    check(cautioned, {CODE: WHY, "weight-old": "made up"})
    assert facts_of_check(cautioned)["reasons"] == {CODE: WHY}


def test_a_worksheet_without_cautions_asks_for_none(everybody: Cast, at_first_check: Hands) -> None:
    check(at_first_check, None, volumes={1: "20", 2: "17.3"})
    assert facts_of_check(at_first_check)["reasons"] == {}
    assert at_first_check.step.kind == "wipe_items"


def test_a_check_taken_again_needs_its_own_reason_and_the_last_counts(cautioned: Hands) -> None:
    check(cautioned, {CODE: "a first thought"}, volumes={1: "20", 2: "3.5"})
    cautioned.resolve("check-again")
    with pytest.raises(CautionsWithoutReason):
        check(cautioned, {}, who="third pharmacist")
    check(cautioned, {CODE: WHY}, who="third pharmacist")
    given = reasons_given(cautioned.preparation)
    assert (given.reasons, given.by) == ({CODE: WHY}, "Beatriz Quiroga")


def test_with_its_reason_it_is_released_and_the_record_prints_it(cautioned: Hands) -> None:
    check(cautioned, {CODE: WHY})
    cautioned.to_release()
    assert cautioned.preparation.state == "released"
    (line,) = record(cautioned.preparation).cautions
    assert (line.text, line.reason, line.by) == (TEXT, WHY, "Ilse Varga")
    assert line.at == cautioned.preparation.entries.get(act="first check").at


def test_before_the_first_check_the_record_has_the_caution_without_a_reason(cautioned: Hands) -> None:
    (line,) = record(cautioned.preparation).cautions
    assert (line.text, line.reason, line.by, line.at) == (TEXT, "", "", None)


@pytest.mark.usefixtures("unguarded")
def test_the_gate_stays_shut_without_the_reason(everybody: Cast, walked: Hands) -> None:
    Preparation.objects.filter(code=walked.code).update(
        worksheet={**walked.preparation.worksheet, "cautions": [{"code": CODE, "text": TEXT}]}
    )
    with pytest.raises(NotReleasable) as refused:
        walked.release()
    assert [(one.code, one.sentence) for one in refused.value.reasons] == [
        ("caution-without-reason", f"No reason is recorded for this: {TEXT}")
    ]


@pytest.mark.parametrize("text", ["", "[]", "not json", '{"facts": []}', '{"facts": {"reasons": "so"}}'])
@pytest.mark.usefixtures("unguarded")
def test_an_entry_that_was_tampered_with_holds_no_reason(cautioned: Hands, text: str) -> None:
    check(cautioned, {CODE: WHY})
    cautioned.preparation.entries.filter(act="first check").update(text=text)
    found = {
        one.code for one in blockers(cautioned.preparation, cautioned.checker, cautioned.step.started_at)
    }
    assert {"caution-without-reason", "record-broken"} <= found


@pytest.mark.usefixtures("unguarded")
def test_a_worksheet_stored_before_there_were_cautions_is_released_as_ever(
    everybody: Cast, walked: Hands
) -> None:
    stored = {name: value for name, value in walked.preparation.worksheet.items() if name != "cautions"}
    Preparation.objects.filter(code=walked.code).update(worksheet=stored)
    walked.release()
    assert walked.preparation.state == "released"
