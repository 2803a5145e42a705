"""What must hold after anything that anybody did, judged from the entries and not by the gate's own code.

Source: shared design 5: never released while any reason stands against it; no acknowledged act lost, none
doubled; history never changes; and design 1: three amounts, obtained apart, by people who are apart.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from checklists.audit import first_fault
from checklists.collation import differences
from checklists.counting import rejected_draws
from checklists.models import Preparation
from checklists.sealing import site_faults
from compounding.reckoning.worksheet import from_plain
from tests.properties.floor import Press

MAKERS_ACTS = {"open", "resume", "finish", "draw", "unit done"}
CHECKS = {"first check", "see draw", "final check", "release"}

Entries = dict[str, list[tuple[int, str]]]


def entries(preparations: Iterable[Preparation]) -> Entries:
    """Return what is entered: numbers and digests, by the code of the preparation."""
    return {one.code: list(one.entries.values_list("number", "digest")) for one in preparations}


def history_only_grew(before: Entries, now: Entries) -> None:
    for code, known in before.items():
        assert now[code][: len(known)] == known, "history changed"


def acknowledged_once(preparations: Iterable[Preparation], done: Iterable[Press]) -> None:
    """Every act that was acknowledged has its one entry."""
    keys = [key for one in preparations for key in one.entries.values_list("key", flat=True)]
    assert len(keys) == len(set(keys)), "an act is there twice"
    for act, told in done:
        name = told["key"] if act.__name__ == "open_preparation" else f"{act.__name__} {told['key']}"
        assert name in keys, f"{act.__name__} was acknowledged and is not in the record"


def verifies(preparations: Iterable[Preparation]) -> None:
    """Assert that chains and tables say the same."""
    for one in preparations:
        fault, off = first_fault(one), list(differences(one))
        assert fault is None, f"the chain does not verify: {fault}"
        assert off == [], f"tables and entries differ: {off}"


def hold(preparations: Iterable[Preparation]) -> None:
    """Assert what the entries of these preparations must never tell."""
    for one in preparations:
        told = [(entry, json.loads(entry.text)["facts"]) for entry in one.entries.all()]
        makers = {entry.person_id for entry, _facts in told if entry.act in MAKERS_ACTS}
        checkers = {entry.person_id for entry, _facts in told if entry.act in CHECKS}
        assert not makers & checkers, "somebody checked what they made"
        if one.state == "released":
            _may_be_released(one, [(entry.act, facts) for entry, facts in told])
        else:
            assert "release" not in [entry.act for entry, _facts in told], "released, and yet not"


def hold_for_the_house() -> None:
    """Assert what is about the whole site: its chain, and one work in hand a technician and a hood."""
    off = list(site_faults())
    assert off == [], f"the site's chain does not verify: {off}"
    technicians = list(Preparation.objects.filter(state="in-work").values_list("technician", flat=True))
    assert len(technicians) == len(set(technicians)), "somebody has two in work"
    hoods = list(Preparation.objects.exclude(hood=None).values_list("hood", flat=True))
    assert len(hoods) == len(set(hoods)), "two are in one hood"


def _may_be_released(one: Preparation, told: list[tuple[str, dict[str, Any]]]) -> None:
    worksheet = from_plain(one.worksheet)
    needed = {draw.number for draw in worksheet.draws} - rejected_draws(one, worksheet)
    seen = {facts["draw"]: facts for act, facts in told if act == "see draw"}
    drawn = {facts["draw"]: facts for act, facts in told if act == "draw"}
    assert needed <= set(seen) & set(drawn), "released, though a draw was not drawn or not seen"
    for draw in needed:
        assert seen[draw]["agrees"], "released, though two amounts differ"
        assert seen[draw]["attempt"] == drawn[draw]["attempt"], (
            "the syringe was filled anew since it was seen"
        )
        three = {seen[draw][name] for name in ("required", "drawn", "seen")}
        assert len(three) == 1, f"released, though the three amounts differ: {three}"
    acts = [act for act, _facts in told]
    assert acts.count("release") == 1, "released twice"
    until = acts.index("release")
    was_open = one.holds.filter(opened_at__lte=one.ended_at).exclude(resolved_at__lte=one.ended_at)
    assert not was_open.exists(), "released with a hold open"
    assert "final check" in acts[:until], "released without a final check"
    assert not one.steps.filter(finished_at=None).exists(), "released with a step left"
