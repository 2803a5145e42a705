"""Something is wrong: the reasons that may be said now, and what follows from each."""

from __future__ import annotations

import secrets
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from checklists.method import mishaps
from checklists.method.allotting import Allotment
from checklists.method.mishaps import Asks, Consequence, Mishap, Offer, Situation
from checklists.models import Person, Preparation
from checklists.refusals import NoSuchReason
from checklists.remains import Remains
from checklists.worklists.bench import current_step
from checklists.worklists.identity import identity
from checklists.worklists.mishap_words import FOLLOWS, SHORTLY
from checklists.worklists.screens import Identity
from compounding.reckoning.quantities import number_in


@dataclass(frozen=True)
class ReasonRow:
    """One reason: its words, its small picture, and shortly what follows."""

    words: str
    follows: str
    picture: str
    url: str
    is_hold: bool


@dataclass(frozen=True)
class ReasonsScreen:
    """Every reason that may be said at this step."""

    identity: Identity
    rows: tuple[ReasonRow, ...]
    is_held: bool
    refusal: str


@dataclass(frozen=True)
class Choice:
    """One syringe or container that it may be about, and what follows in this very case."""

    value: str
    label: str
    follows: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class MishapScreen:
    """One reason and what follows; a press for every syringe or container it may be about."""

    identity: Identity
    words: str
    picture: str
    question: str
    choices: tuple[Choice, ...]
    press: str
    key: str
    act_url: str


def reasons(preparation: Preparation, person: Person, *, refusal: str = "") -> ReasonsScreen:
    """Return the reasons that may be said now; none to somebody else than the technician at work."""
    remains = Remains(preparation)
    now = remains.situation()
    is_theirs = preparation.state == Preparation.State.IN_WORK and preparation.technician_id == person.pk
    offered = mishaps.offers(now) if is_theirs and current_step(preparation) else ()
    return ReasonsScreen(
        identity=identity(preparation, remains.worksheet),
        rows=tuple(_row(preparation, offer, now) for offer in offered),
        is_held=now.is_held,
        refusal=refusal,
    )


def _row(preparation: Preparation, offer: Offer, now: Situation) -> ReasonRow:
    first = offer.choices[0] if len(offer.choices) == 1 else ""
    consequence = mishaps.consequence_of(offer.mishap, first, now)
    if mishaps.needs_decision(offer.mishap, now):
        consequence = Consequence.HOLD
    return ReasonRow(
        words=_(offer.mishap.words),
        follows=str(SHORTLY[consequence]),
        picture=offer.mishap.picture,
        url=reverse("mishap", args=[preparation.code, offer.mishap.code]),
        is_hold=consequence in (Consequence.HOLD, Consequence.ABANDON),
    )


def reason(preparation: Preparation, code: str) -> MishapScreen:
    """Return one reason with what follows from it."""
    remains = Remains(preparation)
    now = remains.situation()
    offer = mishaps.offer_of(code, now)
    if offer is None:
        raise NoSuchReason()
    one = offer.mishap
    choices = offer.choices or ("",)
    return MishapScreen(
        identity=identity(preparation, remains.worksheet),
        words=_(one.words),
        picture=one.picture,
        question=_which(one) if len(choices) > 1 else "",
        choices=tuple(_choice(one, choice, now, remains) for choice in choices),
        press=str(SHORTLY[mishaps.consequence_of(one, choices[0], now)]),
        key=secrets.token_hex(16),
        act_url=reverse("report_mishap", args=[preparation.code, code]),
    )


def is_reprint(code: str) -> bool:
    """Say whether the reason leads to a label that is printed."""
    return code in mishaps.MISHAPS and mishaps.MISHAPS[code].consequence is Consequence.REPRINT


def _which(one: Mishap) -> str:
    questions = {Asks.SYRINGE: _("Which syringe?"), Asks.UNIT: _("Of which unit?")}
    return questions.get(one.asks, _("Which container?"))


def _label(one: Mishap, choice: str, now: Situation) -> str:
    """Return what is chosen in words; the only unit is not named."""
    if one.asks is Asks.UNIT and now.units == 1:
        return ""
    named = {Asks.SYRINGE: _("Syringe %(number)s"), Asks.UNIT: _("Unit %(number)s")}
    return named[one.asks] % {"number": choice} if one.asks in named else choice.capitalize()


def _choice(one: Mishap, choice: str, now: Situation, remains: Remains) -> Choice:
    consequence = mishaps.consequence_of(one, choice, now)
    sentences = [str(sentence) for sentence in FOLLOWS[consequence]]
    if consequence is Consequence.HOLD or mishaps.needs_decision(one, now):
        sentences.append(_(mishaps.why_decided(one, choice, now)))
    if consequence is Consequence.REPLACE_SYRINGE:
        sentences += _further(int(choice), remains)
    label = _label(one, choice, now)
    return Choice(choice, label, str(SHORTLY[consequence]), sentences=tuple(filter(None, sentences)))


def _further(draw: int, remains: Remains) -> list[str]:
    """Say which containers have too little left to draw it anew; never how much."""
    stock = remains.stock({draw})
    left = dict(stock.left)
    if draw == remains.at_draw:
        for portion in remains.draw(draw).sources:
            left[portion.container] = left.get(portion.container, 0) - number_in(portion.volume, "mL")
    allotment = Allotment(stock.__class__(stock.worksheet, stock.holds, left, stock.serving, stock.likes))
    allotment.give([draw])
    return [
        _("%(old)s has too little left: %(new)s is gathered and scanned first.")
        % {"old": old.capitalize(), "new": new}
        for new, old in allotment.furthers.items()
    ]
