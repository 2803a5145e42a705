"""The table of step kinds: the stage each belongs to, who acts, and what finishing it takes.

A new kind is a row here, a rule in `procedure`, a template `steps/<kind>.html` and a test.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Protocol


class Stage(StrEnum):
    """The stages of the work, in order."""

    RECKON = "reckon"
    GATHER = "gather"
    CHECK = "check"
    STAGE = "stage"
    ENTER = "enter"
    READY = "ready"
    DRAW = "draw"
    SHOW = "show"
    ADD = "add"
    LABEL = "label"
    DISPOSE = "dispose"
    HAND_OVER = "hand-over"
    RELEASE = "release"


#: From gloves disinfected to the last add hands stay in the hood.
INSIDE = (Stage.READY, Stage.DRAW, Stage.SHOW, Stage.ADD)


class Takes(StrEnum):
    """What finishing a step takes, beside saying so."""

    NOTHING = "nothing"
    PRINT = "print"
    SCAN_CONTAINER = "scan of a container"
    SCAN_HOOD = "scan of a hood"
    SCAN_LABEL = "scan of the label"
    DWELL = "dwell"
    READING = "reading"
    RECALCULATION = "recalculation"
    SIGHTING = "sighting"
    INSPECTION = "inspection"
    SIGNATURE = "signature"
    COUNTS = "counts"
    WITNESS = "witness"


class Actor(StrEnum):
    """Who acts: the technician who makes it, or a pharmacist who is no maker of it."""

    MAKER = "maker"
    CHECKER = "checker"


@dataclass(frozen=True)
class StepKind:
    """One kind of step. One that is counted is done for each unit of a batch, each with its own stamp."""

    name: str
    stage: Stage
    takes: Takes = Takes.NOTHING
    actor: Actor = Actor.MAKER
    is_in_hood: bool = False
    is_counted: bool = False


def _in_hood(name: str, stage: Stage, takes: Takes = Takes.NOTHING) -> StepKind:
    return StepKind(name, stage, takes, is_in_hood=True)


def _checked(name: str, stage: Stage, takes: Takes, is_in_hood: bool = False) -> StepKind:
    return StepKind(name, stage, takes, Actor.CHECKER, is_in_hood)


KINDS: dict[str, StepKind] = {
    kind.name: kind
    for kind in (
        StepKind("read_worksheet", Stage.RECKON),
        StepKind("gather_container", Stage.GATHER, Takes.SCAN_CONTAINER),
        StepKind("gather_each", Stage.GATHER, Takes.SCAN_CONTAINER, is_counted=True),
        StepKind("gather_supplies", Stage.GATHER),
        StepKind("print_label", Stage.GATHER, Takes.PRINT),
        _checked("first_check", Stage.CHECK, Takes.RECALCULATION),
        StepKind("wipe_items", Stage.STAGE, Takes.DWELL),
        StepKind("put_on_covers", Stage.ENTER),
        StepKind("wash_hands", Stage.ENTER, Takes.DWELL),
        StepKind("rub_hands", Stage.ENTER, Takes.DWELL),
        StepKind("put_on_gloves", Stage.ENTER),
        StepKind("identify_hood", Stage.ENTER, Takes.SCAN_HOOD),
        StepKind("wipe_surface", Stage.ENTER, Takes.DWELL),
        StepKind("lay_mat", Stage.ENTER),
        StepKind("arrange", Stage.ENTER),
        StepKind("restart_hood", Stage.ENTER),
        _in_hood("peel_wraps", Stage.READY),
        _in_hood("clean_spill", Stage.READY),
        _in_hood("disinfect_gloves", Stage.READY, Takes.DWELL),
        _in_hood("swab_sites", Stage.READY, Takes.DWELL),
        _in_hood("change_gloves", Stage.READY),
        _in_hood("attach_devices", Stage.READY),
        _in_hood("open_ampoule", Stage.DRAW),
        _in_hood("join_prefilled", Stage.DRAW),
        _in_hood("draw", Stage.DRAW, Takes.READING),
        StepKind("draw_units", Stage.DRAW, Takes.READING, is_in_hood=True, is_counted=True),
        _checked("show", Stage.SHOW, Takes.SIGHTING, is_in_hood=True),
        _in_hood("add_diluent_to_vial", Stage.ADD),
        _in_hood("dissolve", Stage.ADD, Takes.DWELL),
        _in_hood("discard_diluent", Stage.ADD),
        _in_hood("change_needle", Stage.ADD),
        _in_hood("swab_port", Stage.ADD, Takes.DWELL),
        _in_hood("add", Stage.ADD),
        StepKind("add_units", Stage.ADD, is_in_hood=True, is_counted=True),
        _in_hood("push_over", Stage.ADD),
        StepKind("push_units", Stage.ADD, is_in_hood=True, is_counted=True),
        _in_hood("cap_final", Stage.ADD),
        StepKind("cap_units", Stage.ADD, is_in_hood=True, is_counted=True),
        _in_hood("cap_syringe", Stage.ADD),
        _in_hood("mix", Stage.ADD),
        _in_hood("look", Stage.ADD),
        _in_hood("wipe_outside", Stage.ADD, Takes.DWELL),
        StepKind("apply_label", Stage.LABEL, Takes.SCAN_LABEL),
        StepKind("label_units", Stage.LABEL, Takes.SCAN_LABEL, is_counted=True),
        StepKind("cover_from_light", Stage.LABEL),
        StepKind("seal_bag", Stage.LABEL),
        StepKind("dispose", Stage.DISPOSE),
        StepKind("account_waste", Stage.DISPOSE, Takes.WITNESS),
        StepKind("reconcile", Stage.HAND_OVER, Takes.COUNTS),
        StepKind("hand_over", Stage.HAND_OVER),
        StepKind("deactivate", Stage.HAND_OVER, Takes.DWELL),
        StepKind("decontaminate", Stage.HAND_OVER, Takes.DWELL),
        StepKind("clean_surface", Stage.HAND_OVER, Takes.DWELL),
        StepKind("clean_up", Stage.HAND_OVER, Takes.DWELL),
        # its stage is its own: `row_of`
        StepKind("site_step", Stage.STAGE, Takes.DWELL),
        _checked("final_check", Stage.RELEASE, Takes.INSPECTION),
        _checked("release", Stage.RELEASE, Takes.SIGNATURE),
    )
}


class OfAKind(Protocol):
    """A step, planned or put down: its kind and its own facts."""

    @property
    def kind(self) -> str:
        """Return the name of its kind."""

    @property
    def about(self) -> Any:
        """Return its own facts."""


def row_of(step: OfAKind) -> StepKind:
    """Return the row of a step's kind; a site's own step says itself which stage it belongs to."""
    row = KINDS[step.kind]
    if "stage" not in step.about:
        return row
    stage = Stage(step.about["stage"])
    return replace(row, stage=stage, is_in_hood=stage in INSIDE)
