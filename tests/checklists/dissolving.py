"""Preparations that dissolve a vial and leave some of it, and the next ones that take it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone

from cast import Cast, Hands, order
from checklists import dissolved, gate
from checklists.models import OpenedContainer
from compounding.formulary.policy import change_policy
from tests.checklists.walks import beside, everything

#: 600 mg at 50 mg/mL are 12 mL of a vial's 20 mL; 8 mL are left, of which 250 mg take 5 mL.
FIRST, SECOND, LEFT = "600 mg", "250 mg", Decimal(8)
DILUENT, DRUG = 1, 2


def dissolved_one(house: Cast) -> Hands:
    """Return a preparation that dissolved one vial, left 8 mL of it, and is handed over."""
    change_policy(reason="vials are shared here", by="test", shares_dissolved=True)
    return beside(house, order("vancomycin-nacl-250", FIRST)).to("final_check")


def next_one(house: Cast, dose: str = SECOND) -> Hands:
    """Return the next order, at its powder vial."""
    return beside(house, order("vancomycin-nacl-250", dose)).to("gather_container")


def taking(house: Cast, origin: Hands) -> Hands:
    """Return the next order with the vial gathered that the origin dissolved."""
    work = next_one(house)
    work.finish(work.step, scan=vial_of(origin).code)
    return work


def vial_of(origin: Hands) -> OpenedContainer:
    return OpenedContainer.objects.get(opened_for=origin.preparation, lot__product__kind="powder-vial")


@pytest.fixture(scope="module")
def first(house: Cast) -> Hands:
    return dissolved_one(house)


@pytest.fixture(scope="module")
def gathering(house: Cast, first: Hands) -> Hands:
    """The next order, at its powder vial; nobody has taken the first one's."""
    return next_one(house)


@pytest.fixture(scope="module")
def sharing(house: Cast) -> Hands:
    """The next order, with the vial gathered that another one dissolved, ready to draw from it."""
    return taking(house, dissolved_one(house)).to("draw")


@pytest.fixture(scope="module")
def drawn(house: Cast) -> Hands:
    """The same, drawn and ready for its release."""
    return taking(house, dissolved_one(house)).to("release")


def origin_of(work: Hands) -> Hands:
    """Return the hands at the preparation that dissolved this one's vial."""
    vial = dissolved.vials(work.preparation, work.worksheet)[0]
    return Hands(work.cast, vial.there.order, vial.there.technician, work.checker, vial.there.code)


def refused(work: Hands, kind: type[Exception], **given: str) -> str:
    before = everything()
    with pytest.raises(kind) as refusal:
        work.finish(work.step, **given)
    assert everything() == before
    return refusal.value.sentence


def by_reason(work: Hands) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for blocker in gate.blockers(work.preparation, work.checker, timezone.now()):
        found.setdefault(blocker.code, []).append(blocker.sentence)
    return found


def steps(work: Hands) -> list[str]:
    return [one.kind for one in work.preparation.steps.filter(finished_at=None)]
