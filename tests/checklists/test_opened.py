"""Every container, every time: each its own, and what was opened before, for whom, how long ago, how full.

In-use times: USP <797> (2023): 12 hours for a single-dose vial in ISO 5, 28 days for a multi-dose vial, none
for an ampoule; one single-dose container serves one patient (memory, standards.md).
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.utils import timezone

from cast import Cast, Hands, element_string, key, order, stock_batch, usable_lot
from checklists import run
from checklists.models import OpenedContainer
from checklists.run.opened import use_ends
from compounding.formulary import codes
from compounding.formulary.models import Product, Substance
from compounding.formulary.policy import current_policy
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside, everything, sign_in

HEPARIN = "heparin-d5w-250"


@pytest.fixture
def opened(everybody: Cast, house: Cast) -> OpenedContainer:
    """A multi-dose vial of heparin that one preparation has opened and left."""
    beside(house, order(HEPARIN, "25000 units")).to("hand_over")
    return OpenedContainer.objects.get(discarded_at=None)


@pytest.fixture
def gathering(everybody: Cast, house: Cast) -> Hands:
    return beside(house, order(HEPARIN, "20000 units")).to("gather_container")


def refused(work: Hands, scan: str) -> str:
    before = everything()
    with pytest.raises(Refusal) as refusal:
        work.finish(work.step, scan=scan)
    assert everything() == before
    return refusal.value.sentence


def change(opened: OpenedContainer, **columns: object) -> None:
    OpenedContainer.objects.filter(pk=opened.pk).update(**columns)


def test_the_first_draw_opens_a_container_and_each_draw_takes_from_it(opened: OpenedContainer) -> None:
    work = opened.opened_for
    reading = work.readings.order_by("at").first()
    assert opened.opened_at == reading.at
    assert opened.hood == work.made_in
    assert opened.use_ends_at == reading.at + timedelta(days=28)
    assert opened.left_ml == Decimal(10) - 5  # 25,000 units of 5,000 units/mL, from a vial of 10 mL


def test_how_long_each_kind_may_be_used(everybody: Cast, house: Cast) -> None:
    policy, at = current_policy(), everybody.hood.running_since
    far = at + timedelta(days=400)
    of_kind = {
        kind: use_ends(Product.objects.filter(kind=kind, is_multi_dose=False).first(), at, far, policy) - at
        for kind in ("powder-vial", "solution-vial", "ampoule")
    }
    assert of_kind == {
        "powder-vial": timedelta(hours=12),
        "solution-vial": timedelta(hours=12),
        "ampoule": timedelta(0),
    }
    multi = Product.objects.filter(is_multi_dose=True).first()
    assert use_ends(multi, at, far, policy) == at + timedelta(days=28)
    assert use_ends(multi, at, at + timedelta(days=3), policy) == at + timedelta(days=3)


def test_what_serves_one_preparation_goes_to_the_waste_at_its_end(everybody: Cast, house: Cast) -> None:
    work = beside(house, order()).to("dispose")
    assert OpenedContainer.objects.filter(discarded_at=None).count() == 4  # two powders, two diluents
    work.to("hand_over")
    assert {one.discarded_by for one in OpenedContainer.objects.all()} == {work.technician}


def test_an_opened_vial_serves_again_by_its_own_code(opened: OpenedContainer, gathering: Hands) -> None:
    gathering.finish(gathering.step, scan=opened.code)
    taken = gathering.preparation.materials.get()
    assert (taken.opened, taken.lot) == (opened, opened.lot)
    assert gathering.preparation.beyond_use_at <= opened.use_ends_at
    gathering.to_release()
    opened.refresh_from_db()
    assert (opened.left_ml, opened.discarded_at is None) == (Decimal(1), True)


@pytest.mark.parametrize("by_code", [True, False], ids=["own code", "maker's code with its serial"])
def test_each_reason_against_an_opened_vial_has_its_sentence(
    opened: OpenedContainer, gathering: Hands, by_code: bool
) -> None:
    scan = opened.code if by_code else element_string(opened.lot, opened.serial)
    change(opened, use_ends_at=opened.opened_at)
    assert "its use ended" in refused(gathering, scan)
    change(opened, use_ends_at=opened.opened_at + timedelta(days=28), left_ml=Decimal("3.9"))
    assert "3.9 mL are left; 4 mL are to be drawn from it" in refused(gathering, scan)
    change(opened, left_ml=Decimal(5))
    Product.objects.filter(pk=opened.lot.product_id).update(is_multi_dose=False)
    assert "one such container serves one preparation only" in refused(gathering, scan)
    Product.objects.filter(pk=opened.lot.product_id).update(is_multi_dose=True)
    type(opened.lot).objects.filter(pk=opened.lot_id).update(state="recalled")
    assert "is recalled. Do not use it" in refused(gathering, scan)
    type(opened.lot).objects.filter(pk=opened.lot_id).update(state="available")
    run.discard_container(code=opened.code, person=gathering.technician)
    assert "was put to the waste" in refused(gathering, scan)


def test_an_unknown_and_a_foreign_code_of_ours(everybody: Cast, gathering: Hands) -> None:
    assert "is no opened container's" in refused(gathering, codes.make("C", 7))
    assert "is not a code this place knows" in refused(gathering, gathering.cast.hood.code)


def test_a_container_that_stands_at_other_work_is_left_there(everybody: Cast, house: Cast) -> None:
    first, second = (beside(house, order(HEPARIN, "20000 units")).to("gather_container") for _ in range(2))
    scan = element_string(usable_lot(first.worksheet.container("vial 1").product), "S9")
    first.finish(first.step, scan=scan)
    assert "is gathered for" in refused(second, scan)
    run.abandon(code=first.code, person=first.technician, key=key(), reason="not needed")
    second.finish(second.step, scan=scan)


def test_one_opened_vial_is_not_two(opened: OpenedContainer, everybody: Cast, house: Cast) -> None:
    batch = beside(house, stock_batch()).to("gather_container")
    vials = [one for one in batch.worksheet.containers if one.role == "drug"]
    scan = element_string(usable_lot(vials[0].product))
    batch.finish(batch.step, scan=scan)
    said = refused(batch, scan)
    assert said == "This code was scanned a moment ago. Is this another container? Then scan it again now."
    with time_machine.travel(timezone.now() + timedelta(seconds=3)):
        batch.finish(batch.step, scan=scan)
    assert batch.preparation.materials.count() == 2


def test_a_product_taken_for_another_says_how_it_differs(everybody: Cast, gathering: Hands) -> None:
    wanted = Product.objects.get(gtin=gathering.worksheet.container("vial 1").product)
    weaker = Product.objects.exclude(pk=wanted.pk).get(substance=wanted.substance)
    assert "the right drug, in the wrong strength" in refused(
        gathering, element_string(usable_lot(weaker.gtin))
    )
    Product.objects.filter(pk=weaker.pk).update(
        content=wanted.content, strength=wanted.strength, volume=wanted.volume
    )
    assert "Only a pharmacist has it taken instead" in refused(
        gathering, element_string(usable_lot(weaker.gtin))
    )
    other = Product.objects.get(name__startswith="ketorolac")
    Substance.objects.filter(pk=wanted.substance_id).update(name="ketamine")
    assert "a look-alike" in refused(gathering, element_string(usable_lot(other.gtin)))


def test_what_is_left_is_not_told_while_a_syringe_drawn_from_it_is_read_blind(
    everybody: Cast, house: Cast
) -> None:
    """From a vial of 10 mL, 5 mL left would tell the 5 mL that the pharmacist is to read."""
    work = beside(house, order(HEPARIN, "25000 units")).to("show")
    page = sign_in(work.checker).get("/stock/opened/").content.decode()
    assert "at work" in page
    assert "5 mL" not in page
    work.to_release()
    assert "5 mL" in sign_in(work.checker).get("/stock/opened/").content.decode()
