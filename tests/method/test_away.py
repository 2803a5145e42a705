"""What goes on without a network: scans, the start of a dwell, checks and release wait."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from checklists.method.away import AWAY, Away, away_of
from checklists.method.step_kinds import KINDS, Actor, Takes


@dataclass
class AnyStep:
    kind: str
    about: dict[str, object] = field(default_factory=dict)


def test_every_way_of_finishing_has_its_row() -> None:
    assert set(AWAY) == set(Takes)


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_only_a_plain_act_of_the_technician_goes_on(kind) -> None:
    goes = away_of(AnyStep(kind.name))
    is_plain = kind.takes is Takes.NOTHING and kind.actor is Actor.MAKER and not kind.is_counted
    assert (goes is Away.GOES_ON) == is_plain
    assert (goes is Away.GOES_ON_WHEN_OVER) == (kind.takes is Takes.DWELL)


def test_nothing_that_another_persons_amount_is_compared_with_goes_on() -> None:
    waits = {name for name in KINDS if away_of(AnyStep(name)) is Away.WAITS}
    assert {"draw", "draw_units", "show", "first_check", "final_check", "release"} <= waits
