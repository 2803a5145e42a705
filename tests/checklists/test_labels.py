"""Labels: printed once freely, again only with a reason; a later print makes the earlier void.

Source: a changed label is a counted reprint and the old one destroyed, shared design 1.
"""

from __future__ import annotations

import pytest
from django.db import connection

from cast import Cast, Hands, key, order, stock_batch
from checklists import run
from checklists.counting import items_left, one_of
from checklists.models.guard import lift
from checklists.refusals import LabelDiffers, NoReason, NotOpen, NotYours, OutOfOrder, ReasonTooLong
from compounding.formulary import codes
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside, everything


@pytest.fixture(scope="module")
def labelling(house: Cast) -> Hands:
    return beside(house, order("ketorolac-syringe", "30 mg")).to("apply_label")


@pytest.fixture(scope="module")
def batch(house: Cast) -> Hands:
    return beside(house, stock_batch()).to("label_units")


def reprint(work: Hands, reason: str = "smudged") -> None:
    run.print_labels(code=work.code, person=work.technician, key=key(), reason=reason)


def label(work: Hands, unit: int = 1, number: int = 1) -> str:
    return work.preparation.labels.get(unit=unit, print_number=number).code


def refused(work: Hands, kind: type[Refusal], scan: str) -> str:
    before = everything()
    step = work.step
    if step.kind == "label_units":
        step = one_of(step, items_left(step, work.worksheet)[0])
    with pytest.raises(kind) as refusal:
        work.finish(step, scan=scan)
    assert everything() == before
    return refusal.value.sentence


def test_the_label_printed_is_scanned_back(everybody: Cast, labelling: Hands) -> None:
    labelling.finish(labelling.step, scan=label(labelling))
    assert labelling.preparation.labels.get().scanned_back_at is not None


def test_a_label_is_read_with_spaces_and_in_small_letters(everybody: Cast, labelling: Hands) -> None:
    labelling.finish(labelling.step, scan=codes.grouped(label(labelling)).lower())
    assert labelling.step.kind == "dispose"


def test_another_preparations_label_is_refused_with_both_codes(
    everybody: Cast, labelling: Hands, batch: Hands
) -> None:
    said = refused(labelling, Refusal, label(batch))
    this, other = codes.grouped(labelling.code), codes.grouped(batch.code)
    assert (
        said == f"This label belongs to {other}, not to {this}. Take it off, and put on the label of {this}."
    )


def test_a_code_that_is_no_label_is_refused(everybody: Cast, labelling: Hands) -> None:
    unknown = codes.make("L", 3)
    assert refused(labelling, Refusal, unknown) == (
        f"{codes.grouped(unknown)} is no label printed here. Scan the label that you have just put on."
    )
    assert "Scan the code of a label instead." in refused(labelling, Refusal, labelling.code)
    assert "Scan the code of a label instead." in refused(labelling, Refusal, labelling.cast.hood.code)


def test_another_units_label_is_refused(everybody: Cast, batch: Hands) -> None:
    assert refused(batch, Refusal, label(batch, 7)) == (
        "This is the label of unit 7; unit 1 is labelled now."
    )


def test_a_void_print_is_refused(everybody: Cast, labelling: Hands) -> None:
    reprint(labelling)
    assert refused(labelling, Refusal, label(labelling)) == (
        "This is print 1, which a later one replaced. Destroy it and put on the last print."
    )
    labelling.finish(labelling.step, scan=label(labelling, number=2))


def test_a_second_print_needs_a_reason_that_is_kept(everybody: Cast, labelling: Hands) -> None:
    before = everything()
    for reason, kind in (("", NoReason), ("  ", NoReason), ("x" * 301, ReasonTooLong), ("a\0b", Refusal)):
        with pytest.raises(kind):
            reprint(labelling, reason)
    assert everything() == before
    reprint(labelling, "smudged")
    assert labelling.preparation.labels.get(print_number=2).reason == "smudged"


def test_a_label_printed_after_it_was_scanned_back_is_put_on_and_scanned_anew(
    everybody: Cast, labelling: Hands
) -> None:
    labelling.to("clean_up")
    reprint(labelling)
    assert labelling.step.kind == "apply_label"
    assert "print 1, which a later one replaced" in refused(labelling, Refusal, label(labelling))
    labelling.finish(labelling.step, scan=label(labelling, number=2))
    assert labelling.step.kind == "clean_up"
    assert labelling.to_release().preparation.state == "released"


def test_a_batch_printed_again_midway_labels_every_unit_anew(everybody: Cast, batch: Hands) -> None:
    for _unit in range(3):
        batch.do_unit()
    reprint(batch)
    waiting = batch.preparation.steps.filter(kind="label_units", finished_at=None)
    left = [[item.number for item in items_left(step, batch.worksheet)] for step in waiting]
    assert left == [[1, 2, 3], list(range(4, 13))]
    assert batch.to_release().preparation.state == "released"
    assert batch.preparation.labels.filter(print_number=2, scanned_back_at=None).count() == 0


def test_labels_are_not_printed_of_work_that_is_not_ones_own_or_not_open(
    everybody: Cast, labelling: Hands
) -> None:
    before = everything()
    with pytest.raises(NotYours):
        run.print_labels(
            code=labelling.code, person=everybody["second technician"], key=key(), reason="smudged"
        )
    assert everything() == before
    run.pause(code=labelling.code, person=labelling.technician, key=key(), reason="a break")
    with pytest.raises(NotOpen):
        reprint(labelling)


def test_a_print_sent_twice_is_one_print(everybody: Cast, labelling: Hands) -> None:
    once = key()
    for _sent in range(2):
        run.print_labels(code=labelling.code, person=labelling.technician, key=once, reason="smudged")
    assert labelling.preparation.labels.count() == 2


def test_a_label_is_not_put_on_before_its_turn(everybody: Cast, labelling: Hands) -> None:
    labelling.finish(labelling.step, scan=label(labelling))
    place = labelling.preparation.steps.get(kind="apply_label").place
    with pytest.raises(OutOfOrder):
        run.finish_step(
            code=labelling.code,
            person=labelling.technician,
            key=key(),
            place=place,
            given={"scan": label(labelling)},
        )


@pytest.mark.parametrize("kind", ["draw", "show"])
def test_a_syringe_drawn_again_is_capped_again(everybody: Cast, kind: str) -> None:
    """A syringe that is itself the unit is capped before it is shown, the second time too."""
    work = beside(everybody, order("ketorolac-syringe", "30 mg")).to("show")
    work.see(work.step, 1, "0.9")
    work.resolve("draw-again")
    left = list(work.preparation.steps.filter(finished_at=None).values_list("kind", flat=True))
    assert left[: left.index("look")] == ["swab_sites", "draw", "cap_syringe", "show"]
    assert kind in left


def test_what_was_printed_is_kept_and_compared_when_it_is_scanned_back(
    everybody: Cast, labelling: Hands
) -> None:
    printed = labelling.preparation.labels.get()
    drug = next(line for line in printed.words if line["place"] == "drug 1")
    assert drug["text"] == "ketorolac 30 mg per 1 mL (30 mg/mL)"
    lift(connection)
    drug["text"] = "ketorolac 300 mg per 1 mL (30 mg/mL)"
    type(printed).objects.filter(pk=printed.pk).update(words=printed.words)
    said = refused(labelling, LabelDiffers, printed.code)
    assert said.startswith("The label says “ketorolac 300 mg per 1 mL (30 mg/mL)”, the worksheet")
