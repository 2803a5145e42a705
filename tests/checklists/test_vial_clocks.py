"""How long an opened vial may be drawn from, by the vial that stands in its place now.

Single-dose 12 h in ISO 5, multi-dose 28 d (USP <797> 2023, memory); the site's own policy may be stricter.
"""

from __future__ import annotations

from datetime import timedelta

import time_machine
from django.utils import timezone

from cast import Cast, Hands, key, order
from checklists import clocks, run
from checklists.clocks import Name
from checklists.models import OpenedContainer
from checklists.refusals import ContainerOver
from compounding.formulary.models import Product
from compounding.formulary.policy import change_policy, current_policy
from tests.checklists.test_clocks import HOUR, MINUTE, drawing, refused
from tests.checklists.walks import beside

__all__ = ["drawing"]


def test_a_single_dose_vial_is_used_for_twelve_hours_in_iso_5(everybody: Cast, drawing: Hands) -> None:
    change_policy(reason="long work", by="test", in_process_hours=12)
    drawing.do()
    found = clocks.running(drawing.preparation, current_policy(), timezone.now())
    opened = [clock for clock in found if clock.name is Name.CONTAINER]
    assert {clock.of for clock in opened} >= {"vial 1"}
    assert {clock.until - clock.since for clock in opened} == {12 * HOUR}


def test_nothing_is_drawn_from_a_vial_that_was_open_too_long(everybody: Cast) -> None:
    work = beside(everybody, order("vancomycin-nacl-250", "1100 mg")).to("dissolve")
    change_policy(reason="short", by="test", single_dose_hours=1)
    later = timezone.now() + 2 * HOUR
    with time_machine.travel(later, tick=True):
        work.to("draw")
    said = refused(work, ContainerOver, later + MINUTE, stands="1")
    assert said.startswith("Vial 1 was opened at ")
    assert "replaced" in said


def test_a_vial_that_was_open_too_long_is_replaced_and_its_clock_with_it(everybody: Cast) -> None:
    change_policy(reason="short", by="test", single_dose_hours=1)
    work = beside(everybody, order("vancomycin-nacl-250", "1100 mg")).to("dissolve")
    later = timezone.now() + 2 * HOUR
    with time_machine.travel(later, tick=True):
        work.to("draw")
        for vial, who in (("vial 1", "second pharmacist"), ("vial 2", "third pharmacist")):
            work.checker = everybody[who]  # whoever has read a draw does not read it again
            run.report_mishap(
                code=work.code, person=work.technician, key=key(), reason="open-too-long", choice=vial
            )
            work.to("draw")
        assert opened_too_long(work) == set()
        assert work.to_release().preparation.state == "released"


def opened_too_long(work: Hands) -> set[str]:
    now = timezone.now()
    over = clocks.over(clocks.running(work.preparation, current_policy(), now), now)
    return {clock.of for clock in over if clock.name is Name.CONTAINER}


def test_a_multi_dose_vial_lasts_for_days(everybody: Cast) -> None:
    work = beside(everybody, order("heparin-d5w-250", "25000 units")).to("draw")
    gtins = [one.product for one in work.worksheet.containers]
    Product.objects.filter(gtin__in=gtins).update(is_multi_dose=True)
    before = until_opened(work)
    work.do()
    assert before == []
    assert all(lasts == timedelta(days=28) for lasts in until_opened(work))


def until_opened(work: Hands) -> list[timedelta]:
    found = clocks.running(work.preparation, current_policy(), timezone.now())
    return [clock.until - clock.since for clock in found if clock.name is Name.CONTAINER]


def containers(work: Hands) -> dict[str, clocks.Clock]:
    found = clocks.running(work.preparation, current_policy(), timezone.now())
    return {clock.of: clock for clock in found if clock.name is Name.CONTAINER}


def test_a_vial_opened_for_earlier_work_counts_from_then(everybody: Cast) -> None:
    beside(everybody, order("heparin-d5w-250", "25000 units")).to_release()
    vial = OpenedContainer.objects.get(discarded_at=None)
    OpenedContainer.objects.update(use_ends_at=timezone.now() + 2 * HOUR)
    work = beside(everybody, order("heparin-d5w-250", "20000 units")).to("gather_container")
    work.finish(work.step, scan=vial.code)
    work.to("draw")
    vial.refresh_from_db()
    clock = containers(work)["vial 1"]
    assert (clock.since, clock.until) == (vial.opened_at, vial.use_ends_at)
    with time_machine.travel(timezone.now() + 3 * HOUR, tick=True):
        assert opened_too_long(work) == {"vial 1"}


def test_a_vial_pierced_for_a_draw_that_was_lost_before_it_was_declared_is_open(everybody: Cast) -> None:
    work = beside(everybody, order("heparin-d5w-250", "25000 units")).to("draw")
    assert containers(work) == {}
    run.report_mishap(code=work.code, person=work.technician, key=key(), reason="dropped-syringe", choice="1")
    work.to("draw")
    opened = OpenedContainer.objects.get(opened_for=work.preparation)
    assert containers(work)["vial 1"].since == opened.opened_at
    assert opened.left_ml == 5  # of 10 mL, 5 mL lost with the syringe
    work.to_release()
