"""A recall: work that holds the lot stops at once, is listed by state, and may go on only with another lot.

That a recall reaches every use of a lot, found by lot number: FDA 21 CFR 7.49 and 211.150(b), memory. What
is offered to whom is the project's own.
"""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from cast import Cast, Hands, element_string, key, order, usable_lot
from checklists import run
from checklists.gate import blockers
from checklists.models import Hold
from checklists.refusals import NotAResolution, OnHold, WrongRole
from checklists.worklists import stock
from compounding.formulary.models import Lot
from compounding.formulary.refusals import LotRecalled
from tests.benchmarks.recall import fill
from tests.checklists.walks import beside, sign_in, words

RECALLED = Hold.Cause.LOT_RECALLED


def recall(everybody: Cast, lot: Lot) -> None:
    run.change_lot(lot=lot, to="recalled", reason="glass found", person=everybody["supervisor"], key=key())


def vial_lot(work: Hands) -> Lot:
    return work.preparation.materials.get(container="vial 1").lot


def test_work_with_a_recalled_lot_stops_at_once_in_every_state(everybody: Cast, house: Cast) -> None:
    at_work, aside, done, given = (beside(house, order()).to("first_check") for _ in range(4))
    run.pause(code=aside.code, person=aside.technician, key=key(), reason="a break")
    done.to("final_check")
    given.to_release()
    recall(everybody, vial_lot(at_work))
    for work in (at_work, aside, done):
        hold = work.preparation.holds.get(resolved_at=None)
        assert (hold.cause, "glass found" in hold.note) == (RECALLED, True)
    assert given.preparation.holds.count() == 0
    assert given.preparation.entries.last().act == "lot recalled"
    found = {group.state: {row.url_code for row in group.rows} for group in stock.trace(vial_lot(given))}
    assert found == {
        "in work": {at_work.code},
        "paused": {aside.code},
        "handed over": {done.code},
        "released": {given.code},
    }


def test_no_step_is_finished_and_nothing_is_released_with_it(everybody: Cast, house: Cast) -> None:
    work = beside(house, order()).to("release")
    recall(everybody, vial_lot(work))
    sentences = [one.sentence for one in blockers(work.preparation, work.checker, work.preparation.opened_at)]
    assert any("is recalled" in one for one in sentences)
    assert any("A hold is open: a lot in it was recalled." in one for one in sentences)


def test_a_recall_cut_off_before_it_reached_the_work_is_found_at_the_next_step(
    everybody: Cast, house: Cast
) -> None:
    work = beside(house, order()).to("wipe_items")
    Lot.objects.filter(pk=vial_lot(work).pk).update(state="recalled")
    step = work.step
    work.finish(step, reason="the test does not wait")
    assert work.step == step
    assert work.preparation.holds.get().cause == RECALLED
    with pytest.raises(OnHold):
        work.finish(step, reason="again")


def test_gathering_refuses_a_recalled_lot(everybody: Cast, house: Cast) -> None:
    work = beside(house, order()).to("gather_container")
    lot = usable_lot(work.worksheet.container(work.step.about["container"]).product)
    recall(everybody, lot)
    with pytest.raises(LotRecalled):
        work.finish(work.step, scan=element_string(lot))


def test_it_can_only_be_discarded_and_the_order_goes_back_to_the_list(everybody: Cast, house: Cast) -> None:
    work = beside(house, order()).to("draw")
    recall(everybody, vial_lot(work))
    for way in ("carry-on", "check-again"):
        with pytest.raises(NotAResolution):
            work.resolve(way, person=everybody["pharmacist"])
    work.resolve("discard", person=everybody["pharmacist"])
    assert work.preparation.state == "discarded"
    run.clear_hood(code=work.code, person=work.technician, key=key())
    again = work.open().to("first_check")
    assert {one.lot.state for one in again.preparation.materials.select_related("lot")} == {"available"}


@pytest.mark.parametrize(
    ("who", "to"), [("technician", "recalled"), ("technician", "available"), ("supervisor", "available")]
)
def test_who_may_not(everybody: Cast, house: Cast, who: str, to: str) -> None:
    lot = Lot.objects.filter(state="quarantined").first()
    with pytest.raises(WrongRole):
        run.change_lot(lot=lot, to=to, reason="so", person=everybody[who], key=key())


def test_a_technician_holds_a_lot_back_and_a_pharmacist_frees_it(everybody: Cast) -> None:
    lot = Lot.objects.filter(state="available").first()
    run.change_lot(lot=lot, to="quarantined", reason="a crack", person=everybody["technician"], key=key())
    lot.refresh_from_db()
    assert lot.state == "quarantined"
    run.change_lot(lot=lot, to="available", reason="looked at", person=everybody["pharmacist"], key=key())
    assert [(one.state, one.by, one.reason) for one in lot.changes.all()] == [
        ("quarantined", "Mara Okonjo", "a crack"),
        ("available", "Ilse Varga", "looked at"),
    ]


def test_one_key_recalls_once(everybody: Cast, house: Cast) -> None:
    work = beside(house, order()).to("first_check")
    lot, once = vial_lot(work), key()
    for _ in range(2):
        run.change_lot(lot=lot, to="recalled", reason="glass", person=everybody["pharmacist"], key=once)
    assert lot.changes.count() == 1
    assert work.preparation.holds.count() == 1


def test_the_page_of_a_lot_lists_what_holds_it_and_prints(everybody: Cast, house: Cast) -> None:
    work = beside(house, order()).to("first_check")
    lot = vial_lot(work)
    answer = sign_in(everybody["supervisor"]).post(
        reverse("change_lot", args=[lot.pk]), {"to": "recalled", "reason": "glass found"}, follow=True
    )
    said = words(answer)
    assert "Print this list" in said
    assert "“glass found”" in said
    assert "In work: 1" in said
    assert "Iris Calloway · CD-204117" in said
    assert "vial 1, vial 2" in said


def test_tracing_is_one_query_by_index_however_many_hold_it(everybody: Cast) -> None:
    """The drill's own quick form: three thousand containers would be looked through otherwise."""
    fill(40, 4)
    few = Lot.objects.filter(number="DRILL1").get()
    with CaptureQueriesContext(connection) as asked:
        groups = stock.trace(few)
    assert len(asked) == 1
    assert sum(len(group.rows) for group in groups) == few.used_in.values("preparation").distinct().count()
    assert sum(len(group.rows) for group in groups) > 10
    plan = few.used_in.all().explain()
    assert "lot_id" in plan or connection.vendor != "sqlite"
    assert "SCAN" not in plan
