"""One unit of a batch alone: rejected at the final check, its label printed again.

Rules: the issue (batches); planned = handed over + rejected, printed = put on + destroyed: common practice.
"""

from __future__ import annotations

import json

import pytest
from django.urls import reverse
from django.utils import timezone

from cast import Cast, Hands, key, order, stock_batch
from checklists import gate, run
from checklists.audit import first_fault
from checklists.counting import items_left
from checklists.refusals import LastUnit, NoReason, NoSuchUnit, OutOfOrder, WrongRole
from compounding.reckoning.refusals import Refusal
from tests.checklists.test_mishaps import say
from tests.checklists.walks import beside, everything, sign_in, words


@pytest.fixture(scope="module")
def inspected(house: Cast) -> Hands:
    """A batch of twelve at its final check."""
    return beside(house, stock_batch()).to("final_check")


@pytest.fixture(scope="module")
def labelling(house: Cast) -> Hands:
    """A batch of twelve with five units labelled."""
    work = beside(house, stock_batch()).to("label_units")
    for _unit in range(5):
        work.do_unit()
    return work


def reject(work: Hands, unit: int, reason: str = "a particle", **who: object) -> None:
    run.reject_inspected(
        code=work.code,
        key=key(),
        place=work.step.place,
        unit=unit,
        reason=reason,
        **{"person": work.checker, **who},
    )


def test_at_the_final_check_one_unit_falls_out_and_the_batch_is_released(
    everybody: Cast, inspected: Hands
) -> None:
    reject(inspected, 4)
    assert inspected.step.kind == "final_check"
    inspected.to("release")
    assert gate.blockers(inspected.preparation, inspected.checker, timezone.now()) == ()
    inspected.release()
    told = json.loads(inspected.preparation.entries.filter(act="reconcile").last().text)["facts"]
    assert (told["planned"], told["rejected"], told["in_hand"]) == (12, 1, 11)
    assert (told["printed"], told["labelled"], told["destroyed"], told["yield"]) == (12, 11, 1, "91.7 %")
    assert first_fault(inspected.preparation) is None


@pytest.mark.parametrize(
    ("unit", "reason", "who", "kind"),
    [
        (13, "haze", "pharmacist", NoSuchUnit),
        (4, "  ", "pharmacist", NoReason),
        (4, "haze", "technician", WrongRole),
    ],
)
def test_it_needs_a_unit_a_reason_and_a_pharmacist(
    everybody: Cast, inspected: Hands, unit: int, reason: str, who: str, kind: type[Refusal]
) -> None:
    before = everything()
    with pytest.raises(kind):
        reject(inspected, unit, reason, person=everybody[who])
    assert everything() == before


def test_something_must_be_left_and_it_is_the_final_checks_own_act(
    everybody: Cast, inspected: Hands, labelling: Hands
) -> None:
    for unit in range(1, 12):
        reject(inspected, unit)
    with pytest.raises(LastUnit):
        reject(inspected, 12)
    with pytest.raises(OutOfOrder):
        reject(labelling, 1)
    single = beside(everybody, order("ketorolac-syringe", "30 mg")).to("final_check")
    with pytest.raises((NoSuchUnit, OutOfOrder)):
        reject(single, 1)


def test_the_phone_rejects_a_unit_and_stays_at_the_check(everybody: Cast, inspected: Hands) -> None:
    phone = sign_in(inspected.checker)
    where = reverse("check", args=[inspected.code, inspected.step.place])
    assert "One unit is not fit: reject it" in words(phone.get(where))
    act = reverse("reject_inspected", args=[inspected.code, inspected.step.place])
    for which in ("", "0", "99", "x", "\0"):
        assert phone.post(act, {"which": which, "reason": "haze"}).status_code == 409
    assert phone.post(act, {"which": "7", "reason": "haze"}).url == where
    assert inspected.preparation.rejections.get().unit == 7
    assert "Unit 7" in words(phone.get(where))


def test_one_units_label_is_printed_again_and_put_on_again(everybody: Cast, labelling: Hands) -> None:
    run.print_labels(code=labelling.code, person=labelling.technician, key=key(), reason="smudged", unit=3)
    prints = labelling.preparation.labels.filter(print_number=2)
    assert [one.unit for one in prints] == [3]
    assert [item.number for item in items_left(labelling.step, labelling.worksheet)] == [3]
    labelling.to_release()
    assert labelling.preparation.state == "released"
    told = json.loads(labelling.preparation.entries.filter(act="reconcile").last().text)["facts"]
    assert (told["printed"], told["labelled"], told["destroyed"]) == (13, 12, 1)


def test_a_label_not_put_on_yet_is_printed_again_without_a_further_step(
    everybody: Cast, labelling: Hands
) -> None:
    say(labelling, "spoiled-label", "9")
    assert [one.unit for one in labelling.preparation.labels.filter(print_number=2)] == [9]
    assert [item.number for item in items_left(labelling.step, labelling.worksheet)] == [*range(6, 13)]
    assert labelling.to_release().preparation.state == "released"


def test_the_label_page_shows_the_new_one_alone(everybody: Cast, labelling: Hands) -> None:
    tablet = sign_in(labelling.technician)
    act = reverse("print_labels", args=[labelling.code])
    answer = tablet.post(act, {"which": "2", "reason": "torn"})
    assert answer.url.endswith("?unit=2")
    assert "One label" in words(tablet.get(answer.url))
    assert tablet.post(act, {"which": "99", "reason": "torn"}).status_code == 409
    assert "12 labels" in words(tablet.get(reverse("label", args=[labelling.code])))
    said = words(tablet.get(reverse("something_else", args=[labelling.code])))
    assert "Of which unit" in said
