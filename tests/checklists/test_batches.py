"""A unit lost without losing the batch, and the reconciliation that accounts for every unit and label.

Source: the issue (yield and reconciliation); planned = handed over + rejected: common practice, no source.
"""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from django.urls import reverse
from django.utils import timezone

from cast import Cast, Hands, key, order, stock_batch
from checklists import gate, run
from checklists.audit import first_fault
from checklists.counting import items_left, one_of, unread_items
from checklists.models import Label, Rejection
from checklists.refusals import (
    DoesNotAddUp,
    LabelOfRejected,
    LastUnit,
    NoReason,
    NoSuchUnit,
    NotCounted,
    NotOpen,
    NotReleasable,
)
from compounding.formulary import codes
from compounding.formulary.models import Formulation
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside, everything, sign_in, words


@pytest.fixture(scope="module")
def drawing(house: Cast) -> Hands:
    """A batch of twelve with four syringes drawn."""
    work = beside(house, stock_batch()).to("draw_units")
    for _unit in range(4):
        work.do_unit()
    return work


@pytest.fixture(scope="module")
def counting(house: Cast) -> Hands:
    """A batch of twelve, every unit labelled, to be reconciled."""
    return beside(house, stock_batch()).to("reconcile")


@pytest.fixture(scope="module")
def handed_over(house: Cast) -> Hands:
    """A batch of twelve that only waits for its release; unit 5 was dropped before it was labelled."""
    work = beside(house, stock_batch()).to("label_units")
    work.reject(5)
    return work.to("release")


def left(work: Hands) -> list[int]:
    return [item.number for item in items_left(work.step, work.worksheet)]


def count(work: Hands, in_hand: str, destroyed: str) -> None:
    work.finish(work.step, in_hand=in_hand, destroyed=destroyed)


def test_a_dropped_syringe_falls_out_and_the_batch_goes_on(everybody: Cast, drawing: Hands) -> None:
    drawing.reject(3, "dropped on the floor")
    drawing.reject(7, "its wrap was torn")
    assert left(drawing) == [5, 6, 8, 9, 10, 11, 12]
    drawing.to("show")
    assert [item.number for item in unread_items(drawing.step, drawing.worksheet)] == [
        1, 2, 4, 5, 6, 8, 9, 10, 11, 12,
    ]  # fmt: skip
    drawing.to("label_units")
    assert left(drawing) == [1, 2, 4, 5, 6, 8, 9, 10, 11, 12]
    drawing.to_release()
    assert drawing.preparation.state == "released"
    told = json.loads(drawing.preparation.entries.get(act="reconcile").text)["facts"]
    assert (told["planned"], told["rejected"], told["in_hand"]) == (12, 2, 10)
    assert (told["printed"], told["destroyed"], told["yield"]) == (12, 2, "83.3 %")
    assert first_fault(drawing.preparation) is None


def test_the_last_of_a_step_rejected_ends_the_step(everybody: Cast, drawing: Hands) -> None:
    for _unit in range(7):
        drawing.do_unit()
    drawing.reject(12)
    assert drawing.step.kind == "show"
    for item in unread_items(drawing.step, drawing.worksheet)[:-1]:
        drawing.see(drawing.step, item.draw, "2")
    drawing.reject(11)
    assert drawing.step.kind == "look"
    assert drawing.to_release().preparation.state == "released"


def test_a_rejection_needs_a_unit_of_the_batch_a_reason_and_something_left(
    everybody: Cast, drawing: Hands
) -> None:
    drawing.reject(3)
    before = everything()
    for unit, reason, kind in ((3, "dropped", NoSuchUnit), (13, "dropped", NoSuchUnit), (4, "  ", NoReason)):
        with pytest.raises(kind):
            drawing.reject(unit, reason)
    assert everything() == before
    for unit in (1, 2, *range(4, 12)):
        drawing.reject(unit)
    with pytest.raises(LastUnit, match="Nothing would be left of the batch"):
        drawing.reject(12)


def test_nothing_is_rejected_of_a_single_unit_or_of_work_put_aside(everybody: Cast, drawing: Hands) -> None:
    single = beside(everybody, order("ketorolac-syringe", "30 mg")).to("draw")
    with pytest.raises(NoSuchUnit):
        single.reject(1)
    run.pause(code=drawing.code, person=drawing.technician, key=key(), reason="a break")
    with pytest.raises(NotOpen):
        drawing.reject(1)


def test_a_rejected_units_label_is_void_and_is_not_printed_again(everybody: Cast, drawing: Hands) -> None:
    drawing.to("label_units").reject(1)
    label = drawing.preparation.labels.get(unit=1)
    due = one_of(drawing.step, items_left(drawing.step, drawing.worksheet)[0])
    with pytest.raises(LabelOfRejected, match="Unit 1 was rejected, so this label is void"):
        drawing.finish(due, scan=label.code)
    sheet = sign_in(drawing.technician).get(reverse("label", args=[drawing.code]))
    assert codes.grouped(label.code) not in words(sheet)
    assert "12 of 12" in words(sheet)
    run.print_labels(code=drawing.code, person=drawing.technician, key=key(), reason="smudged")
    assert sorted(drawing.preparation.labels.filter(print_number=2).values_list("unit", flat=True)) == list(
        range(2, 13)
    )


def test_a_hold_about_one_syringe_is_resolved_by_going_on_without_it(everybody: Cast, drawing: Hands) -> None:
    drawing.to("show")
    for item in unread_items(drawing.step, drawing.worksheet):
        drawing.see(drawing.step, item.draw, "1.6" if item.number == 9 else "2")
    drawing.resolve("reject", reason="a bubble that does not leave")
    assert drawing.preparation.rejections.get().unit == 9
    assert drawing.to_release().preparation.state == "released"


def test_the_units_of_a_single_preparation_are_not_rejected_at_a_hold(everybody: Cast, shown: Hands) -> None:
    shown.see(shown.step, 2, "18.5")
    with pytest.raises(Refusal, match="is not resolved that way"):
        shown.resolve("reject")


def test_a_batch_that_adds_up_is_handed_over(everybody: Cast, counting: Hands) -> None:
    count(counting, "12", "0")
    assert counting.step.kind == "hand_over"
    told = json.loads(counting.preparation.entries.get(act="reconcile").text)["facts"]
    assert told["yield"] == "100 %"
    assert told["remaining"] == {"ondansetron 40 mg per 20 mL multi-dose vial": "16 mL"}


@pytest.mark.parametrize(
    ("in_hand", "destroyed", "said"),
    [
        ("11", "0", "12 planned less 0 rejected leaves 12; 11 are in hand."),
        ("13", "0", "12 planned less 0 rejected leaves 12; 13 are in hand."),
        ("12", "1", "12 labels printed less 12 put on leaves 0 to destroy; 1 were counted."),
    ],
)
def test_a_batch_that_does_not_add_up_says_what_does_not(
    everybody: Cast, counting: Hands, in_hand: str, destroyed: str, said: str
) -> None:
    before = everything()
    with pytest.raises(DoesNotAddUp) as refusal:
        count(counting, in_hand, destroyed)
    assert said in refusal.value.sentence
    assert everything() == before


@pytest.mark.parametrize("text", ["", " ", "-1", "1.5", "twelve", "1,2", "\0", "9" * 5000, "\u0661\u0662"])
def test_a_count_that_is_none_is_refused(everybody: Cast, counting: Hands, text: str) -> None:
    before = everything()
    for in_hand, destroyed in ((text, "0"), ("12", text)):
        with pytest.raises(NotCounted):
            count(counting, in_hand, destroyed)
    assert everything() == before


def test_what_is_spoiled_after_the_count_is_counted_anew(everybody: Cast, counting: Hands) -> None:
    count(counting, "12", "0")
    counting.reject(2, "dropped at the hatch")
    assert counting.step.kind == "reconcile"
    with pytest.raises(DoesNotAddUp):
        count(counting, "12", "0")
    count(counting, "11", "1")
    run.print_labels(code=counting.code, person=counting.technician, key=key(), reason="smudged")
    assert counting.step.kind == "label_units"
    counting.to("reconcile").to("hand_over")
    told = json.loads(counting.preparation.entries.filter(act="reconcile").last().text)["facts"]
    assert (told["printed"], told["labelled"], told["destroyed"]) == (23, 11, 12)
    assert counting.to_release().preparation.state == "released"


def _printed_since(work: Hands) -> None:
    last = work.preparation.labels.filter(unit=5).latest("print_number")
    Label.objects.create(
        preparation=work.preparation,
        code=codes.make("L", 91),
        unit=5,
        print_number=last.print_number + 1,
        printed_by=work.technician,
        printed_at=timezone.now(),
    )


def _no_count(work: Hands) -> None:
    work.preparation.entries.filter(act="reconcile").update(act="count")


SINCE: dict[str, tuple[Callable[[Hands], object], str]] = {
    "never counted": (_no_count, "The batch is not reconciled."),
    "a label printed since": (
        _printed_since,
        "The batch does not add up: 13 labels printed less 11 put on leaves 2 to destroy; 1 were counted.",
    ),
}


@pytest.mark.usefixtures("unguarded")
@pytest.mark.parametrize("what", SINCE)
def test_a_batch_that_is_not_reconciled_is_not_released(
    everybody: Cast, handed_over: Hands, what: str
) -> None:
    put, sentence = SINCE[what]
    put(handed_over)
    with pytest.raises(NotReleasable) as refused:
        handed_over.release()
    found = {one.sentence for one in refused.value.reasons if one.code == "batch-not-reconciled"}
    assert found == {sentence}


def test_a_batch_that_is_reconciled_is_released_without_its_lost_unit(
    everybody: Cast, handed_over: Hands
) -> None:
    assert gate.blockers(handed_over.preparation, handed_over.checker, timezone.now()) == ()
    handed_over.release()
    paper = words(sign_in(everybody["supervisor"]).get(reverse("record", args=[handed_over.code])))
    assert "Unit 5 rejected : dropped" in paper
    assert "Yield 91.7 %" in paper


@pytest.mark.usefixtures("unguarded")
@pytest.mark.parametrize("change", [{"unit": 6}, {"reason": "given away"}])
def test_a_changed_rejection_is_found(everybody: Cast, handed_over: Hands, change: dict[str, object]) -> None:
    Rejection.objects.filter(preparation=handed_over.preparation).update(**change)
    assert first_fault(handed_over.preparation).what == "the rejection it made was changed"


def test_the_choice_of_a_unit_is_asked_for_and_kept_when_refused(everybody: Cast, drawing: Hands) -> None:
    tablet = sign_in(drawing.technician)
    asked = words(tablet.get(reverse("choose_unit", args=[drawing.code])))
    assert "Which syringe is lost or spoiled?" in asked
    where = reverse("reject_unit", args=[drawing.code])
    for which in ("", "0", "13", "x", "\0", "9" * 5000):
        answer = tablet.post(where, {"which": which, "reason": "dropped"})
        assert answer.status_code == 409
        assert b'value="dropped"' in answer.content
    assert tablet.post(where, {"which": "4", "reason": "dropped"}).status_code == 302
    assert drawing.preparation.rejections.get().unit == 4


def test_a_batch_of_bags_goes_to_release_without_the_bag_that_leaked(everybody: Cast) -> None:
    Formulation.objects.filter(code="ondansetron-nacl-50").update(most_units=24)
    nobody = {"patient_name": "", "patient_identifier": "", "born_on": "", "allergies": "", "prescriber": ""}
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg", units="4", **nobody)).to("add_units")
    work.do_unit()
    work.reject(2, "it leaks at the port")
    assert left(work) == [3, 4]
    work.to_release()
    assert work.preparation.state == "released"
    told = json.loads(work.preparation.entries.get(act="reconcile").text)["facts"]
    assert (told["planned"], told["in_hand"], told["yield"]) == (4, 3, "75 %")
