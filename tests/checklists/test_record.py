"""The record: every act leaves one entry bound to the one before; what it holds is canonical text.

SHA-256: FIPS 180-4 through hashlib (page); hash chain: common practice, no source.
"""

from __future__ import annotations

import hashlib
import json

import pytest

from cast import Cast, Hands, key
from checklists import run
from checklists.audit import faults, first_fault
from checklists.models import Entry, Preparation


def entries(work: Hands) -> list[Entry]:
    return list(work.preparation.entries.order_by("number"))


def test_the_whole_walk_is_one_unbroken_chain(everybody: Cast, walked: Hands) -> None:
    walked.release()
    assert first_fault(walked.preparation) is None
    assert faults(Preparation.objects.all()) == []


def test_each_entry_is_bound_to_the_one_before_as_anybody_can_reckon(everybody: Cast, walked: Hands) -> None:
    previous = "0" * 64
    for number, entry in enumerate(entries(walked), 1):
        assert (entry.number, entry.previous) == (number, previous)
        previous = hashlib.sha256(f"{previous}\n{entry.text}".encode()).hexdigest()
        assert entry.digest == previous


def test_an_entry_names_who_when_what_and_in_which_role(everybody: Cast, walked: Hands) -> None:
    for entry in entries(walked):
        told = json.loads(entry.text)
        assert sorted(told) == sorted(
            ["preparation", "number", "act", "person", "badge", "role", "at", "key", "facts"]
        )
        assert (told["person"], told["badge"], told["role"]) == (
            entry.person.name,
            entry.person.badge,
            entry.person.role,
        )


def test_the_first_entry_holds_the_whole_worksheet_as_it_was_frozen(everybody: Cast, walked: Hands) -> None:
    opened = json.loads(entries(walked)[0].text)
    assert opened["act"] == "open"
    assert opened["facts"]["worksheet"] == walked.preparation.worksheet
    assert [kind for kind, about in opened["facts"]["steps"]] == list(
        walked.preparation.steps.values_list("kind", flat=True)
    )


def test_the_three_amounts_of_every_draw_are_in_the_record(everybody: Cast, walked: Hands) -> None:
    seen = [json.loads(entry.text)["facts"] for entry in entries(walked) if entry.act == "see draw"]
    assert [(one["draw"], one["required"], one["drawn"], one["seen"], one["agrees"]) for one in seen] == [
        (1, "20 mL", "20 mL", "20 mL", True),
        (2, "20 mL", "20 mL", "20 mL", True),
        (3, "22 mL", "22 mL", "22 mL", True),
    ]


def test_every_finished_step_left_its_entry(everybody: Cast, walked: Hands) -> None:
    told = [json.loads(entry.text)["facts"]["step"] for entry in entries(walked) if entry.act == "finish"]
    by_technician = walked.preparation.steps.filter(finished_by=walked.technician)
    assert told == list(by_technician.values_list("kind", flat=True))


def test_a_refused_act_leaves_no_entry(everybody: Cast, walked: Hands) -> None:
    count = len(entries(walked))
    with pytest.raises(Exception, match="The PIN is not right"):
        walked.release(pin="0000")
    assert len(entries(walked)) == count


def test_an_act_sent_twice_leaves_one_entry(everybody: Cast, walked: Hands) -> None:
    once = key()
    for _sent in range(3):
        run.take_check(code=walked.code, person=everybody["pharmacist"], key=once, place=walked.step.place)
    assert walked.preparation.entries.filter(act="take check").count() == 1


def test_the_signed_meaning_is_kept_with_the_release(everybody: Cast, walked: Hands) -> None:
    walked.release()
    released = json.loads(entries(walked)[-1].text)
    assert (released["act"], released["person"]) == ("release", "Ilse Varga")
    assert released["facts"]["meaning"] == ("I have checked this preparation and release it for this order.")


def test_a_hold_and_its_resolution_are_in_the_record(everybody: Cast, shown: Hands) -> None:
    shown.see(shown.step, 2, "18.5")
    shown.resolve("draw-again", reason="the plunger slipped")
    held, resolved = [json.loads(entry.text) for entry in entries(shown) if entry.act in ("hold", "resolve")]
    assert held["facts"] == {"cause": "amounts-differ", "note": "", "draws": [2]}
    assert resolved["facts"] == {
        "cause": "amounts-differ",
        "resolution": "draw-again",
        "reason": "the plunger slipped",
        "meaning": "I have seen why the work stopped, and decide how it goes on.",
    }


def test_a_text_in_any_language_keeps_its_chain(everybody: Cast, shown: Hands) -> None:
    note = "Flüssigkeit läuft aus — Стоп 漏れ 😀 “quoted” \\ / \n second line"
    run.raise_hold(code=shown.code, person=shown.technician, key=key(), note=note)
    assert first_fault(shown.preparation) is None
    assert json.loads(entries(shown)[-1].text)["facts"]["note"] == note
