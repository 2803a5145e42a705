"""What goes wrong at the bench: the table of reasons, when each may be said, and what follows from it.

The reasons are the trade's own (shared design 1; consequences: common practice, no source, but for
`power-cut` and `torn-glove`: USP <797> (2023), memory). A hold is only where a pharmacist must decide;
its row says why. `offers` is what the tablet shows, `consequence_of` is what an act follows.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from checklists.method.step_kinds import Stage


class Consequence(StrEnum):
    """What follows."""

    REPLACE_SYRINGE = "draw again with a new syringe"
    REPLACE_CONTAINER = "take another container"
    NEW_GLOVES = "new gloves"
    CLEAN = "clean and disinfect"
    RESTART = "begin anew in the hood"
    REPRINT = "print the label again"
    PAUSE = "pause"
    HOLD = "a pharmacist decides"
    ABANDON = "give it up"


class Asks(StrEnum):
    """What the reason is about, to be chosen where there are several."""

    NOTHING = ""
    SYRINGE = "syringe"
    CONTAINER = "container"
    BAG = "bag"
    UNIT = "unit"


@dataclass(frozen=True)
class Mishap:
    """One reason: its code for the record, its words, when it may be said, and what follows."""

    code: str
    words: str
    stages: frozenset[Stage]
    consequence: Consequence
    picture: str
    asks: Asks = Asks.NOTHING
    #: What was drawn out of that container, and is not added yet, is as spoiled as the container.
    is_foul: bool = False
    #: Only once something is in the final container; or only before; or either.
    only_filled: bool | None = None
    #: Why this needs a pharmacist's decision.
    decides: str = ""


@dataclass(frozen=True)
class Situation:
    """How things stand at the bench. Containers are named by their keys, syringes by their draws."""

    stage: Stage
    syringes: tuple[int, ...] = ()
    withdrawn: tuple[int, ...] = ()
    containers: tuple[str, ...] = ()
    used: tuple[str, ...] = ()
    bags: tuple[str, ...] = ()
    units: int = 1
    live: tuple[str, ...] = ("1",)
    has_hood: bool = False
    is_exposed: bool = False
    is_filled: bool = False
    is_printed: bool = False
    is_held: bool = False


@dataclass(frozen=True)
class Offer:
    """A reason that may be said now, and what it may be about."""

    mishap: Mishap
    choices: tuple[str, ...]


_S = Stage
_WET = frozenset({_S.DRAW, _S.SHOW, _S.ADD})
_INSIDE = frozenset({_S.READY, *_WET})
_AT_HOOD = frozenset({_S.ENTER, *_INSIDE})
_DONE = frozenset({_S.LABEL, _S.DISPOSE, _S.HAND_OVER})
_BEFORE = frozenset({_S.GATHER, _S.CHECK, _S.STAGE})
_ALL = frozenset(_S) - {_S.RELEASE}
_C = Consequence

MISHAPS: dict[str, Mishap] = {
    one.code: one
    for one in (
        Mishap(
            "dropped-syringe",
            "A syringe was dropped or leaks",
            _WET,
            _C.REPLACE_SYRINGE,
            "dropped",
            Asks.SYRINGE,
        ),
        Mishap(
            "touched-needle",
            "The needle touched something",
            _WET,
            _C.REPLACE_SYRINGE,
            "touched",
            Asks.SYRINGE,
        ),
        Mishap(
            "past-the-mark",
            "Drawn past the mark, and the needle is out",
            _WET,
            _C.REPLACE_SYRINGE,
            "past",
            Asks.SYRINGE,
        ),
        Mishap(
            "cored-stopper",
            "A piece of the stopper is in the vial",
            _WET,
            _C.REPLACE_CONTAINER,
            "cored",
            Asks.CONTAINER,
            is_foul=True,
            decides="Some of that vial is in the preparation already, and may have carried stopper with it.",
        ),
        Mishap(
            "broken-container",
            "A vial or ampoule is cracked, dropped or empty",
            frozenset({*_BEFORE, *_AT_HOOD}),
            _C.REPLACE_CONTAINER,
            "cracked",
            Asks.CONTAINER,
        ),
        Mishap(
            "open-too-long",
            "A vial has been open for too long",
            _WET,
            _C.REPLACE_CONTAINER,
            "away",
            Asks.CONTAINER,
        ),
        Mishap(
            "spoiled-bag",
            "The bag leaks or is torn; nothing is in it yet",
            frozenset({*_BEFORE, *_AT_HOOD}),
            _C.REPLACE_CONTAINER,
            "leak",
            Asks.BAG,
            only_filled=False,
        ),
        Mishap(
            "leaking-bag",
            "The bag leaks, and medicine is in it",
            frozenset({_S.DRAW, _S.SHOW, _S.ADD, *_DONE}),
            _C.ABANDON,
            "leak",
            only_filled=True,
            decides="One of several units leaks; the others may be sound.",
        ),
        Mishap(
            "particle",
            "Particles, haze or a wrong colour",
            frozenset({*_WET, *_DONE}),
            _C.HOLD,
            "particle",
            decides="It may be the drug, the stopper or the whole lot; the technician cannot tell which.",
        ),
        Mishap("torn-glove", "A glove is torn", _INSIDE, _C.NEW_GLOVES, "glove"),
        Mishap("spill", "Something is spilled in the hood", _AT_HOOD, _C.CLEAN, "spill"),
        Mishap(
            "power-cut",
            "The power is cut, or the hood stopped",
            _AT_HOOD,
            _C.RESTART,
            "power",
            decides="What stood open or drawn lay without first air; whether it may be used is a judgement.",
        ),
        Mishap(
            "unclean-entry",
            "A needle that had touched something went in",
            frozenset({_S.DRAW, _S.ADD}),
            _C.HOLD,
            "entered",
            decides="It cannot be undone; what it reached may no longer be sterile.",
        ),
        Mishap(
            "wrongly-added",
            "The wrong thing, or too much, was added",
            frozenset({_S.ADD, _S.DRAW, _S.LABEL}),
            _C.ABANDON,
            "wrongly",
            only_filled=True,
            decides="One of several units is wrong; the others may be sound.",
        ),
        Mishap(
            "unsure",
            "I am not sure of an amount",
            _WET,
            _C.HOLD,
            "unsure",
            decides="An amount that is doubted is looked at by somebody else, never guessed.",
        ),
        Mishap(
            "spoiled-label",
            "The label is spoiled",
            frozenset(_S) - {_S.RECKON, _S.RELEASE},
            _C.REPRINT,
            "label",
            Asks.UNIT,
        ),
        Mishap("called-away", "I am called away", _ALL, _C.PAUSE, "away"),
        Mishap(
            "something-missing",
            "Something is missing",
            frozenset({_S.RECKON, *_BEFORE, _S.ENTER}),
            _C.PAUSE,
            "missing",
        ),
    )
}


def offers(now: Situation) -> tuple[Offer, ...]:
    """Return every reason that may be said now; on hold, only what stops the work further."""
    found = (Offer(one, _choices(one, now)) for one in MISHAPS.values() if _fits(one, now))
    return tuple(offer for offer in found if offer.choices or offer.mishap.asks is Asks.NOTHING)


def offer_of(code: str, now: Situation) -> Offer | None:
    """Return the offer of that code, or None when it cannot be said now."""
    return next((offer for offer in offers(now) if offer.mishap.code == code), None)


def consequence_of(mishap: Mishap, choice: str, now: Situation) -> Consequence:
    """Return what follows from a reason about a syringe or container, as things stand."""
    if mishap.consequence is Consequence.ABANDON and now.units > 1:
        return Consequence.HOLD
    if mishap.asks is Asks.SYRINGE and choice in map(str, now.withdrawn):
        return Consequence.HOLD
    if mishap.is_foul and choice in now.used:
        return Consequence.HOLD
    return mishap.consequence


def needs_decision(mishap: Mishap, now: Situation) -> bool:
    """Say whether the work begins anew only after a pharmacist has judged what lay open."""
    return mishap.consequence is Consequence.RESTART and now.is_exposed


#: Diluent withdrawn from a bag is out of it whatever becomes of the syringe: drawn again, it would be twice.
WITHDRAWN = "What was withdrawn is out of the bag; drawn again, too much would be missing."


def why_decided(mishap: Mishap, choice: str, now: Situation) -> str:
    """Return why a pharmacist must decide this."""
    is_withdrawn = mishap.asks is Asks.SYRINGE and choice in map(str, now.withdrawn)
    return WITHDRAWN if is_withdrawn else mishap.decides


def _fits(one: Mishap, now: Situation) -> bool:
    if now.stage not in one.stages or (now.is_held and one.consequence not in (_C.HOLD, _C.PAUSE)):
        return False
    if one.only_filled is not None and one.only_filled is not now.is_filled:
        return False
    needs = {
        _C.CLEAN: now.has_hood,
        _C.RESTART: now.has_hood,
        _C.REPRINT: now.is_printed,
    }
    return needs.get(one.consequence, True)


def _choices(one: Mishap, now: Situation) -> tuple[str, ...]:
    found: dict[Asks, Iterable[str]] = {
        Asks.SYRINGE: map(str, now.syringes),
        Asks.CONTAINER: now.containers,
        Asks.BAG: now.bags,
        Asks.UNIT: now.live,
    }
    return tuple(found.get(one.asks, ()))
