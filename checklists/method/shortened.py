"""A step without what was done elsewhere: a vial that is dissolved already takes no diluent here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from checklists.method.batch import gather_each


@dataclass(frozen=True)
class Done:
    """What was done elsewhere: the vial, the draws that dissolve it, and diluents that nothing takes now."""

    vial: str
    draws: frozenset[int]
    unused: frozenset[str]


def shortened(kind: str, about: Mapping[str, Any], done: Done) -> dict[str, Any] | None:
    """Return a step's facts without what is done; None where nothing is left of it.

    A step that is not about it keeps its facts. The vial's own stopper is swabbed all the same.
    """
    return RULES[kind](dict(about), done) if kind in RULES else dict(about)


Rule = Callable[[dict[str, Any], Done], dict[str, Any] | None]


def _of_one_draw(about: dict[str, Any], done: Done) -> dict[str, Any] | None:
    return None if about["draw"] in done.draws else about


def _of_one_container(about: dict[str, Any], done: Done) -> dict[str, Any] | None:
    return None if about["container"] in done.unused else about


def _of_each_container(about: dict[str, Any], done: Done) -> dict[str, Any] | None:
    left = [key for key in about["containers"] if key not in done.unused]
    if left == about["containers"]:
        return about
    return dict(gather_each(left).about) if left else None


def _without(name: str, taken: Callable[[Done], frozenset[Any]]) -> Rule:
    def rule(about: dict[str, Any], done: Done) -> dict[str, Any] | None:
        left = [one for one in about.get(name, ()) if one not in taken(done)]
        return {**about, name: left} if left else None

    return rule


RULES: dict[str, Rule] = {
    "gather_container": _of_one_container,
    "gather_each": _of_each_container,
    "open_ampoule": _of_one_container,
    "swab_sites": _without("sites", lambda done: done.unused),
    "draw": _of_one_draw,
    "join_prefilled": _of_one_draw,
    "show": _without("draws", lambda done: done.draws),
    "add_diluent_to_vial": _of_one_draw,
    "dissolve": _without("containers", lambda done: frozenset({done.vial})),
}
