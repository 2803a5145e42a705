"""Pairs that must not meet.

Source of each pair: shared/published/incompatible_pairs.json, by title, page or memory.
"""

import json
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from compounding.reckoning.incompatibility import (
    Incompatible,
    Verdict,
    conflicts,
    refuse_stops,
    table_of,
)
from compounding.reckoning.refusals import MissingFact, OutOfRange

PUBLISHED = Path(__file__).parents[2] / "shared" / "published" / "incompatible_pairs.json"
DOCUMENT: dict[str, Any] = json.loads(PUBLISHED.read_text())
ROWS: list[dict[str, str]] = DOCUMENT["rows"]
TABLE = table_of(ROWS, DOCUMENT["groups"])
SALINE = "sodium chloride 0.9 %"


def members(name: str) -> list[str]:
    found: list[str] = DOCUMENT["groups"].get(name, [name])
    return found


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['first']}-{row['second']}-{row['mark']}")
def test_every_published_pair_is_found_for_every_member_either_way_round(row: dict[str, str]) -> None:
    for first in members(row["first"]):
        for second in members(row["second"]):
            for one, other in permutations((first, second)):
                found = conflicts((one,), other, TABLE)
                assert row["why"] in {conflict.pair.why for conflict in found}


def test_vancomycin_and_ceftriaxone_stop_in_both_rows() -> None:
    found = conflicts(("Vancomycin", "cefTRIAXone"), SALINE, TABLE)
    assert [conflict.pair.second for conflict in found] == ["vancomycin", "beta-lactams"]
    assert found[0].sentence == (
        "Vancomycin with cefTRIAXone. They precipitate. Do not put them together "
        "(Ceftriaxone label (copy on a label library))."
    )


def test_a_diluent_counts_however_its_percent_is_spaced() -> None:
    for diluent in (SALINE, "Sodium chloride 0.9%", "SODIUM CHLORIDE  0.9 %"):
        (found,) = conflicts(("norepinephrine",), diluent, TABLE)
        assert found.pair.verdict is Verdict.REASON


def test_what_is_not_listed_gives_no_conflict() -> None:
    assert conflicts(("cefazolin",), SALINE, TABLE) == ()
    assert conflicts((), "", TABLE) == ()
    assert conflicts(("cefazolin", "cefazolin"), "", TABLE) == ()


def test_no_reason_lets_a_stop_pass() -> None:
    found = conflicts(("ceftriaxone",), "lactated ringer's", TABLE)
    with pytest.raises(Incompatible, match="Do not put them together"):
        refuse_stops(found)


def test_a_lesser_conflict_stops_nothing_and_asks_for_a_reason() -> None:
    found = conflicts(("norepinephrine",), SALINE, TABLE)
    refuse_stops(found)
    assert [conflict.sentence for conflict in found] == [
        f"norepinephrine with {SALINE}. The label of the concentrate asks for dextrose; premixes in sodium "
        "chloride exist. A pharmacist gives a reason (Norepinephrine label (copy))."
    ]


def test_stops_come_first() -> None:
    found = conflicts(("norepinephrine", "ceftriaxone", "vancomycin"), SALINE, TABLE)
    assert [conflict.pair.verdict for conflict in found] == [Verdict.STOP, Verdict.STOP, Verdict.REASON]


@pytest.mark.parametrize("fact", ["first", "second", "why", "source"])
def test_a_row_without_its_facts_is_refused(fact: str) -> None:
    with pytest.raises(MissingFact, match=f"“{fact}” of"):
        table_of([{**ROWS[0], fact: " "}])


def test_a_row_with_another_verdict_is_refused() -> None:
    with pytest.raises(OutOfRange, match="Write stop or reason"):
        table_of([{**ROWS[0], "verdict": "perhaps"}])
