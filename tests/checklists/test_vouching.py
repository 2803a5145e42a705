"""What the record of one preparation must say for its vial to serve another: each way it can be wrong.

Rules: the issue (reconstitution shared between preparations); no other source.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.utils import timezone

from cast import PIN, Cast, Hands, key
from checklists import dissolved, run, vouching
from checklists.models import Entry, Hold, OpenedContainer, Preparation, Sighting
from checklists.refusals import (
    DissolvedNoMore,
    NotReleasable,
    UsedForAnother,
)
from compounding.formulary.models import Lot, Product, Substance
from compounding.formulary.policy import change_policy
from tests.checklists.dissolving import (
    DILUENT,
    DRUG,
    by_reason,
    drawn,
    first,
    gathering,
    next_one,
    origin_of,
    refused,
    sharing,
    vial_of,
)

__all__ = ["drawn", "first", "gathering", "sharing"]


def hold(work: Hands) -> None:
    Hold.objects.create(
        preparation=work.preparation,
        cause=Hold.Cause.SOMETHING_WRONG,
        opened_by=work.checker,
        opened_at=timezone.now(),
    )


def discard(work: Hands) -> None:
    run.refuse_check(
        code=work.code, person=work.checker, key=key(), place=work.step.place, reason="haze in it"
    )
    work.resolve("discard", reason="haze")


def state(to: str) -> Callable[[Hands], object]:
    return lambda work: Preparation.objects.filter(pk=work.preparation.pk).update(state=to)


def seen(**columns: object) -> Callable[[Hands], object]:
    return lambda work: Sighting.objects.filter(
        reading__preparation=work.preparation, reading__draw=DILUENT
    ).update(**columns)


def unseen(work: Hands) -> None:
    Sighting.objects.filter(reading__preparation=work.preparation, reading__draw=DILUENT).delete()


def drawn_anew(work: Hands) -> None:
    reading = work.preparation.readings.get(draw=DILUENT)
    reading.pk, reading.attempt = None, 2
    reading.save()


def amend(act: str, draw: int) -> Callable[[Hands], object]:
    def amended(work: Hands) -> None:
        numbers = [one.number for one in Entry.objects.filter(preparation=work.preparation, act=act)]
        facts = [json.loads(work.preparation.entries.get(number=one).text)["facts"] for one in numbers]
        entry = next(one for one, told in zip(numbers, facts, strict=True) if told["draw"] == draw)
        run.amend(code=work.code, person=work.checker, key=key(), entry=entry, words="it was less", pin=PIN)

    return amended


def amend_step(kind: str) -> Callable[[Hands], object]:
    def amended(work: Hands) -> None:
        entry = next(
            one.number
            for one in work.preparation.entries.filter(act="finish")
            if json.loads(one.text)["facts"]["step"] == kind
        )
        run.amend(code=work.code, person=work.checker, key=key(), entry=entry, words="not so", pin=PIN)

    return amended


def mishap(work: Hands) -> None:
    work.preparation.mishaps.create(
        code="cored-stopper",
        about="vial 1",
        consequence="a pharmacist decides",
        person=work.technician,
        at=timezone.now(),
    )


def undo_step(kind: str) -> Callable[[Hands], object]:
    return lambda work: work.preparation.steps.filter(kind=kind).update(finished_at=None)


def diluent(to: str) -> Callable[[Hands], object]:
    def changed(work: Hands) -> None:
        lots = work.preparation.materials.filter(container="diluent vial 1").values("lot")
        Lot.objects.filter(pk__in=lots).update(state=to)

    return changed


def otherwise(work: Hands) -> None:
    worksheet = work.preparation.worksheet
    for ingredient in worksheet["ingredients"]:
        ingredient["strength"] = "100 mg/mL"
    Preparation.objects.filter(pk=work.preparation.pk).update(worksheet=worksheet)


def alter(work: Hands) -> None:
    entry = work.preparation.entries.get(number=4)
    Entry.objects.filter(pk=entry.pk).update(text=entry.text.replace("finish", "finisH"))


def another_material(work: Hands) -> None:
    other = work.preparation.materials.get(container="bag")
    OpenedContainer.objects.filter(pk=vial_of(work).pk).update(first=other)


#: How it can be wrong, and what is said of it. Some of it only the owner of the database can do.
WRONG: dict[str, tuple[Callable[[Hands], object], str]] = {
    "a hold is open": (hold, "that preparation is on hold: something is wrong"),
    "it was discarded": (discard, "that preparation is discarded"),
    "its maker still works": (state("in-work"), "that preparation is in work; its vials serve others once"),
    "its maker put it aside": (state("paused"), "that preparation is paused"),
    "its diluent was not seen": (unseen, "the three amounts of its diluent (draw 1) do not agree there"),
    "its diluent was drawn anew, unseen": (drawn_anew, "(draw 1) do not agree there"),
    "its amounts differed": (seen(agrees=False), "(draw 1) do not agree there"),
    "a seen amount was changed": (seen(volume_ml=Decimal(15)), "(draw 1) do not agree there"),
    "its drawn amount was amended": (amend("draw", DILUENT), "about it was set right there"),
    "its seen amount was amended": (amend("see draw", DILUENT), "about it was set right there"),
    "its dissolving was amended": (amend_step("dissolve"), "about it was set right there"),
    "its gathering was amended": (amend_step("gather_container"), "about it was set right there"),
    "its stopper was cored": (mishap, "a piece of the stopper is in the vial"),
    "its diluent did not go in": (undo_step("add_diluent_to_vial"), "not dissolved to the end"),
    "it was not dissolved": (undo_step("dissolve"), "not dissolved to the end"),
    "its diluent was recalled": (diluent("recalled"), "used there, is recalled"),
    "its diluent is held back": (diluent("quarantined"), "used there, is quarantined"),
    "it has another strength": (otherwise, "it is 100 mg/mL there, made otherwise"),
    "its record was altered": (alter, "the record of that preparation is not as it was written"),
    "it names another container": (another_material, "the record does not say how it was dissolved"),
}  # fmt: skip


@pytest.mark.usefixtures("unguarded")
@pytest.mark.parametrize("what", WRONG)
def test_at_gathering_it_is_refused_when(everybody: Cast, first: Hands, gathering: Hands, what: str) -> None:
    put, sentence = WRONG[what]
    code = vial_of(first).code
    put(first)
    assert sentence in refused(gathering, DissolvedNoMore, scan=code)


@pytest.mark.usefixtures("unguarded")
@pytest.mark.parametrize("what", [what for what in WRONG if what != "its diluent was recalled"])
def test_after_gathering_no_draw_is_taken_from_it_when(everybody: Cast, sharing: Hands, what: str) -> None:
    put, sentence = WRONG[what]
    put(origin_of(sharing))
    assert sentence in refused(sharing, DissolvedNoMore, stands="at the mark")


@pytest.mark.usefixtures("unguarded")
@pytest.mark.parametrize("what", WRONG)
def test_after_it_was_drawn_nothing_is_released_when(everybody: Cast, drawn: Hands, what: str) -> None:
    assert by_reason(drawn) == {}
    put, sentence = WRONG[what]
    put(origin_of(drawn))
    found = by_reason(drawn)
    assert set(found) == {"dissolved-elsewhere", "amount-missing"}
    assert any(sentence in said for said in found["dissolved-elsewhere"])
    assert found["amount-missing"] == ["Draw 1 has no drawn amount."]
    with pytest.raises(NotReleasable):
        drawn.release()


def test_what_is_amended_about_something_else_does_no_harm(everybody: Cast, sharing: Hands) -> None:
    amend("draw", DRUG)(origin_of(sharing))
    assert [*vouching.faults(dissolved.vials(sharing.preparation, sharing.worksheet)[0])] == []
    assert sharing.to_release().preparation.state == "released"


def test_where_two_pharmacists_read_here_two_must_have_read_there(everybody: Cast, first: Hands) -> None:
    Substance.objects.filter(products__kind="powder-vial").update(is_high_alert=True)
    change_policy(reason="after a near miss", by="test", second_reader="high-alert")
    work = next_one(everybody)
    said = refused(work, DissolvedNoMore, scan=vial_of(first).code)
    assert "its diluent was not read by two pharmacists there" in said


def test_a_controlled_powder_is_not_shared_its_rest_is_destroyed(everybody: Cast, first: Hands) -> None:
    Product.objects.filter(kind="powder-vial").update(is_controlled=True)
    assert "serves one preparation only" in refused(
        next_one(everybody), UsedForAnother, scan=vial_of(first).code
    )
