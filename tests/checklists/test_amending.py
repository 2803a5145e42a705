"""An entry is set right by a new one that names it; the old one stays as it was, and both are read.

Source: the project's own rule; on paper a single line through it: common practice, no source.
"""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from cast import PIN, Cast, Hands
from checklists.audit import first_fault
from tests.checklists.walks import everything, sign_in, words

RIGHT = {"entry": "2", "words": "the lot on the vial was read aloud, not scanned", "pin": PIN}


@pytest.mark.parametrize("who", ["second pharmacist", "supervisor"])
def test_an_entry_is_set_right_by_a_new_one_also_after_the_release(
    everybody: Cast, walked: Hands, who: str
) -> None:
    walked.release()
    before = list(walked.preparation.entries.values_list("text", "digest"))
    desk, address = sign_in(everybody[who]), reverse("amend", args=[walked.code])
    page = words(desk.get(address))
    assert f"The record has {len(before)} entries." in page
    assert "I set right what an entry of this record says; the entry itself stays as it is." in page
    assert desk.post(address, RIGHT).url == reverse("record", args=[walked.code])
    after = list(walked.preparation.entries.values_list("text", "digest"))
    assert after[:-1] == before
    assert json.loads(after[-1][0])["facts"] == {
        "entry": 2,
        "words": RIGHT["words"],
        "meaning": "I set right what an entry of this record says; the entry itself stays as it is.",
    }
    assert first_fault(walked.preparation) is None
    assert f"words {RIGHT['words']}" in words(desk.get(reverse("record", args=[walked.code])))


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"entry": "9999"}, "The record has no entry 9999."),
        ({"entry": "two"}, "The record has no entry 0."),
        ({"words": " "}, "reason"),
        ({"pin": "0000"}, "The PIN is not right. Nothing was signed"),
    ],
)
def test_what_cannot_be_added_is_told_and_stays_on_the_page(
    everybody: Cast, walked: Hands, wrong: dict[str, str], said: str
) -> None:
    desk, before = sign_in(everybody["supervisor"]), everything()
    answer = desk.post(reverse("amend", args=[walked.code]), RIGHT | wrong)
    assert answer.status_code == 409
    assert said in words(answer)
    assert everything() == before


def test_while_syringes_are_to_be_read_a_pharmacist_does_not_come_near_it(
    everybody: Cast, shown: Hands
) -> None:
    phone = sign_in(everybody["third pharmacist"])
    assert phone.get(reverse("amend", args=[shown.code])).status_code == 409
