"""The checker's walk through the numbered syringes of a batch: in one sitting, blind, each on its own.

Source: the issue (the checker reads the units of a batch in one sitting); nothing is told before the last.
"""

from __future__ import annotations

import json
import re

import pytest
from django.urls import reverse

from cast import Cast, Hands, key, stock_batch
from checklists import run
from checklists.counting import unread_items
from checklists.refusals import Disclosed, NoReason, OutOfOrder, SeenAlready
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside, everything, sign_in, words

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture(scope="module")
def batch(house: Cast) -> Hands:
    """A batch of twelve, drawn and capped; syringe 5 is declared at 1.6 mL."""
    work = beside(house, stock_batch()).to("draw_units")
    for unit in range(1, 13):
        given = {"volume": "1.6"} if unit == 5 else {"stands": "at the mark"}
        run.finish_step(
            code=work.code,
            person=work.technician,
            key=key(),
            place=work.step.place,
            given={"unit": str(unit), **given},
        )
    return work


def pass_over(work: Hands, draw: int, reason: str = "it glares", who: str = "pharmacist") -> None:
    run.cannot_read(
        code=work.code,
        person=work.cast[who],
        key=key(),
        place=work.step.place,
        draw=draw,
        reason=reason,
    )


def read(work: Hands, *draws: int, text: str = "2") -> None:
    for draw in draws:
        work.see(work.step, draw, text)


def left(work: Hands) -> list[int]:
    return [item.number for item in unread_items(work.step, work.worksheet)]


def post(work: Hands, draw: int, volume: str, **more: str):
    phone = sign_in(work.checker)
    where = reverse("sight_draw", args=[work.code, work.step.place])
    return phone.post(where, {"draw": str(draw), "volume": volume}, **more)


def test_after_each_amount_the_next_syringe_comes_up_at_once(everybody: Cast, batch: Hands) -> None:
    for number in range(1, 12):
        answer = post(batch, number, "2", **HTMX)
        assert answer.status_code == 200
        assert f"Read syringe {number + 1} of 12" in words(answer)
        assert b"<html" not in answer.content
    last = post(batch, 12, "2", **HTMX)
    assert last.headers["HX-Redirect"].endswith("/committed/")


def test_no_amount_of_an_earlier_syringe_is_told_before_the_last(everybody: Cast, batch: Hands) -> None:
    """Read as 3.1 mL, declared as 1.6 mL: numbers that stand on a page only if those amounts do."""
    amounts = re.compile(rb"(?<![\d.,:])(?:3\.1|1\.6)(?!\d)")
    for number in range(1, 12):
        answer = post(batch, number, "3.1", **HTMX)
        assert answer.status_code == 200
        assert amounts.findall(answer.content) == []
        for name in ("check", "committed"):
            again = sign_in(batch.checker).get(
                reverse(name, args=[batch.code, batch.step.place]), follow=True
            )
            assert amounts.findall(again.content) == [], name
    place = batch.step.place
    post(batch, 12, "3.1")
    compared = sign_in(batch.checker).get(reverse("committed", args=[batch.code, place]))
    assert amounts.findall(compared.content)


def test_who_comes_back_goes_on_at_the_first_unread(everybody: Cast, batch: Hands) -> None:
    read(batch, 1, 2, 3)
    where = reverse("check", args=[batch.code, batch.step.place])
    assert "Read syringe 4 of 12" in words(sign_in(batch.checker).get(where))
    assert left(batch) == list(range(4, 13))
    other = sign_in(everybody["third pharmacist"]).get(where)
    assert "Read syringe 4 of 12" in words(other)


def test_a_refused_amount_stays_at_the_same_syringe(everybody: Cast, batch: Hands) -> None:
    read(batch, 1)
    answer = post(batch, 2, "1,9", **HTMX)
    assert answer.status_code == 409
    assert "Read syringe 2 of 12" in words(answer)
    assert b'value="1,9"' in answer.content


def test_one_that_cannot_be_read_is_passed_over_and_alone_read_again(everybody: Cast, batch: Hands) -> None:
    read(batch, 1, 2, 3)
    pass_over(batch, 4)
    assert left(batch) == [*range(5, 13)]
    read(batch, 5, text="1.6")
    read(batch, *range(6, 13))
    holds = [(hold.cause, hold.draws, hold.note) for hold in batch.preparation.holds.all()]
    assert holds == [("amounts-differ", [5], ""), ("cannot-read", [4], "it glares")]


def test_a_syringe_passed_over_by_all_others_stops_the_work_only_at_the_end(
    everybody: Cast, batch: Hands
) -> None:
    pass_over(batch, 1)
    read(batch, 2, 3, 4)
    read(batch, 5, text="2")
    read(batch, *range(6, 12))
    assert not batch.preparation.holds.exists()
    read(batch, 12)
    causes = set(batch.preparation.holds.values_list("cause", flat=True))
    assert causes == {"amounts-differ", "cannot-read"}


def test_what_was_passed_over_is_in_the_record_and_makes_nobody_a_maker(
    everybody: Cast, batch: Hands
) -> None:
    pass_over(batch, 1)
    entry = batch.preparation.entries.last()
    facts = json.loads(entry.text)["facts"]
    assert entry.act == "cannot read"
    assert (facts["unit"], facts["draw"], facts["reason"]) == (1, 1, "it glares")
    read(batch, 2)


def test_a_syringe_is_passed_over_once_and_not_after_it_was_read(everybody: Cast, batch: Hands) -> None:
    read(batch, 1)
    pass_over(batch, 2)
    refusals: tuple[tuple[type[Refusal], int, str], ...] = (
        (Disclosed, 1, "it glares"),
        (SeenAlready, 2, "it glares"),
        (OutOfOrder, 13, "it glares"),
        (OutOfOrder, 0, "it glares"),
        (NoReason, 3, " "),
    )
    before = everything()
    for kind, draw, reason in refusals:
        with pytest.raises(kind):
            pass_over(batch, draw, reason)
    assert everything() == before


def test_who_saw_one_amount_of_a_batch_reads_no_other_of_it_blind(everybody: Cast, batch: Hands) -> None:
    read(batch, *range(1, 5))
    read(batch, 5, text="1.6")
    read(batch, *range(6, 13))
    hold = batch.preparation.holds.get()
    run.see_hold(code=batch.code, person=everybody["third pharmacist"], key=key(), hold=hold.pk)
    batch.resolve("draw-again")
    batch.to("show")
    with pytest.raises(Disclosed):
        batch.see(batch.step, 5, "2", everybody["third pharmacist"])
    seen = batch.preparation.disclosures.filter(person=everybody["third pharmacist"])
    assert seen.count() == 12
