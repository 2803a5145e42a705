"""An order cancelled, changed or superseded at every stage: what happens is right, and said in words.

Source: the issue's own list; common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from cast import Cast, Hands, key, order
from checklists import run
from checklists.refusals import AlreadyBeingMade, NotAResolution, NotReleasable, OnHold, OrderNotActive
from compounding.formulary.models import Order
from compounding.formulary.refusals import OrderClosed, OrderRefused
from tests.checklists.walks import beside, everything

STAGES = ("gather_container", "first_check", "arrange", "draw", "show", "add", "apply_label", "final_check")


@pytest.fixture(scope="module", params=STAGES)
def work(house: Cast, request: pytest.FixtureRequest) -> Hands:
    """An opened preparation, at one of the stages of the work; ask for `everybody` too."""
    return beside(house, order("ondansetron-nacl-50", "8 mg")).to(request.param)


def cancel(asked: Order, cast: Cast, reason: str = "therapy stopped", once: str | None = None) -> None:
    run.cancel_order(order=asked, reason=reason, person=cast["second pharmacist"], key=once or key())


def change(asked: Order, cast: Cast, once: str | None = None, **fields: object) -> Order:
    told = {"reason": "as the ward asks", **fields}
    return run.change_order(order=asked, person=cast["second pharmacist"], key=once or key(), **told)


def in_an_hour() -> str:
    return timezone.localtime(timezone.now() + timedelta(hours=5)).strftime("%Y-%m-%dT%H:%M")


def test_a_cancelled_order_stops_the_work_at_every_stage(everybody: Cast, work: Hands) -> None:
    cancel(work.order, work.cast)
    hold = work.preparation.holds.get()
    assert (hold.get_cause_display(), hold.note) == ("the order was cancelled", "therapy stopped")
    with pytest.raises(OnHold, match="The work is on hold: the order was cancelled"):
        work.do()
    for way in ("carry-on", "draw-again", "read-again", "check-again"):
        with pytest.raises(NotAResolution):
            work.resolve(way)
    work.resolve("discard")
    assert work.preparation.state == "discarded"


def test_a_change_that_leaves_the_work_the_same_is_carried_on(everybody: Cast, work: Hands) -> None:
    new = change(work.order, work.cast, due_at=in_an_hour(), ward="Ward 9", prescriber="Dr Piet Hollander")
    hold = work.preparation.holds.get()
    assert (hold.cause, hold.note) == ("order-changed", f"replaced by order {new.number}")
    with pytest.raises(OnHold, match="the order was changed"):
        work.do()
    work.resolve("carry-on")
    assert work.preparation.order == new
    work.to_release()
    assert work.preparation.state == "released"
    adopted = work.preparation.entries.get(act="adopt order")
    assert new.number in adopted.text


CHANGES = {
    "another dose": {"doses": {"dose-1": "12 mg"}},
    "another patient": {"patient_name": "Iris Callaway"},
    "another number of the patient": {"patient_identifier": "CD-204118"},
    "another date of birth": {"born_on": "1961-03-05"},
    "other allergies": {"allergies": "ondansetron"},
    "another preparation": {
        "formulation": "ketorolac-syringe",
        "route": "intravenous injection",
        "doses": {"dose-1": "30 mg"},
    },
    "another weight": {"body_weight": "61 kg", "weighed_on": timezone.localdate().isoformat()},
    "another height": {"height": "150 cm"},
}


@pytest.fixture(scope="module")
def midway(house: Cast) -> Hands:
    return beside(house, order("ondansetron-nacl-50", "8 mg")).to("swab_port")


@pytest.mark.parametrize("what", CHANGES)
def test_any_other_change_can_only_be_discarded(everybody: Cast, midway: Hands, what: str) -> None:
    change(midway.order, everybody, **CHANGES[what])
    for way in ("carry-on", "draw-again", "check-again"):
        with pytest.raises(NotAResolution, match="“the order was changed” is not resolved that way"):
            midway.resolve(way)
    midway.resolve("discard")
    assert midway.preparation.state == "discarded"


def test_a_second_change_that_leaves_the_work_the_same_is_carried_on_from_too(
    everybody: Cast, midway: Hands
) -> None:
    new = change(midway.order, everybody, ward="Ward 9")
    newest = change(new, everybody, ward="Ward 10")
    midway.resolve("carry-on")
    assert midway.preparation.order == newest


def test_a_change_cancelled_afterwards_leaves_only_to_discard(everybody: Cast, midway: Hands) -> None:
    new = change(midway.order, everybody, ward="Ward 9")
    cancel(new, everybody)
    with pytest.raises(NotAResolution):
        midway.resolve("carry-on")
    midway.resolve("discard")


def test_a_change_back_by_two_orders_is_the_same_work(everybody: Cast, midway: Hands) -> None:
    new = change(midway.order, everybody, doses={"dose-1": "12 mg"})
    change(new, everybody, doses={"dose-1": "8 mg"})
    midway.resolve("carry-on")
    assert midway.to_release().preparation.state == "released"


def test_the_new_order_opened_by_another_leaves_the_old_work_only_to_discard(
    everybody: Cast, midway: Hands
) -> None:
    new = change(midway.order, everybody, ward="Ward 9")
    run.open_preparation(number=new.number, person=everybody["second technician"], key=key())
    with pytest.raises(NotAResolution):
        midway.resolve("carry-on")
    midway.resolve("discard")


def test_work_carried_on_keeps_the_new_order_from_being_made_twice(everybody: Cast, midway: Hands) -> None:
    new = change(midway.order, everybody, ward="Ward 9")
    midway.resolve("carry-on")
    with pytest.raises(AlreadyBeingMade):
        run.open_preparation(number=new.number, person=everybody["second technician"], key=key())


@pytest.mark.parametrize("how", ["cancelled", "changed"])
def test_work_on_hold_for_its_order_is_not_released(everybody: Cast, walked: Hands, how: str) -> None:
    if how == "cancelled":
        cancel(walked.order, everybody)
    else:
        change(walked.order, everybody, ward="Ward 9")
    with pytest.raises(NotReleasable) as refused:
        walked.release()
    assert [reason.sentence for reason in refused.value.reasons] == [
        f"A hold is open: the order was {how}.",
        f"The order was {'superseded' if how == 'changed' else 'cancelled'}.",
    ]


@pytest.mark.parametrize("how", ["cancelled", "changed"])
def test_released_work_stays_released_and_its_record_says_so(
    everybody: Cast, walked: Hands, how: str
) -> None:
    walked.release()
    if how == "cancelled":
        cancel(walked.order, everybody)
    else:
        change(walked.order, everybody, doses={"dose-1": "1000 mg"})
    assert walked.preparation.state == "released"
    assert not walked.preparation.holds.exists()
    assert walked.preparation.entries.last().act == "order no longer asks for it"


def test_discarded_work_hears_nothing_of_it(everybody: Cast, midway: Hands) -> None:
    run.abandon(code=midway.code, person=midway.technician, key=key(), reason="a torn wrap")
    count = midway.preparation.entries.count()
    cancel(midway.order, everybody)
    assert midway.preparation.entries.count() == count


def test_paused_work_is_held_too_and_can_be_discarded_where_it_lies(everybody: Cast, midway: Hands) -> None:
    run.pause(code=midway.code, person=midway.technician, key=key(), reason="a break")
    cancel(midway.order, everybody)
    midway.resolve("discard")
    assert midway.preparation.state == "discarded"


def test_an_order_cancelled_before_it_is_opened_is_not_made(everybody: Cast) -> None:
    asked = order("ketorolac-syringe", "30 mg")
    cancel(asked, everybody)
    with pytest.raises(OrderNotActive, match="is cancelled; nothing is made from it"):
        run.open_preparation(number=asked.number, person=everybody["technician"], key=key())


def test_an_order_is_cancelled_only_once_and_with_a_reason(everybody: Cast) -> None:
    asked = order("ketorolac-syringe", "30 mg")
    before = everything()
    for reason in ("", "  ", "x" * 201, "\0"):
        with pytest.raises(OrderRefused, match="The reason"):
            cancel(asked, everybody, reason)
    assert everything() == before
    cancel(asked, everybody)
    with pytest.raises(OrderClosed, match="is cancelled"):
        cancel(asked, everybody)
    with pytest.raises(OrderClosed):
        change(asked, everybody, ward="Ward 9")


def test_a_cancellation_or_change_sent_twice_happens_once(everybody: Cast, midway: Hands) -> None:
    once, again, count = key(), key(), Order.objects.count()
    new = change(midway.order, everybody, once, ward="Ward 9")
    before = everything()
    assert change(midway.order, everybody, once, ward="Ward 9") == new
    assert everything() == before
    cancel(new, everybody, once=again)
    assert midway.preparation.holds.count() == 1
    assert Order.objects.count() == count + 1


def test_a_change_of_an_order_nobody_has_opened_sent_twice_is_one_change(everybody: Cast) -> None:
    asked, once = order("ketorolac-syringe", "30 mg"), key()
    new = change(asked, everybody, once, ward="Ward 9")
    assert change(asked, everybody, once, ward="Ward 9") == new


def test_an_order_entered_twice_with_one_key_is_one_order(everybody: Cast) -> None:
    once, fields, count = key(), typed_order(), Order.objects.count()
    first = run.enter_order(person=everybody["pharmacist"], key=once, **fields)
    second = run.enter_order(person=everybody["pharmacist"], key=once, **fields)
    assert first == second
    assert Order.objects.count() == count + 1


def typed_order() -> dict[str, object]:
    return {
        "formulation": "ketorolac-syringe",
        "patient_name": "Bram Adeyemi",
        "patient_identifier": "CD-202264",
        "born_on": "1983-08-14",
        "allergies": "none known",
        "route": "intravenous injection",
        "prescriber": "Dr Piet Hollander",
        "ward": "Recovery",
        "units": "1",
        "due_at": in_an_hour(),
        "doses": {"dose-1": "30 mg"},
    }
