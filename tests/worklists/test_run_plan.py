"""The run plan on an invented shift: what it saves, that no plan wastes less, and the list in its turn.

Source of the optimum: vial_oracle.py, the problem stated anew for CP-SAT. Orders and prices are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from django.utils import timezone

from cast import Cast, hands, key, order, stock_batch
from checklists import run
from checklists.models import OpenedContainer, RunPlan
from checklists.refusals import NothingToPlan
from checklists.worklists import run_plan
from checklists.worklists.orders import to_make
from compounding.formulary import codes, shift
from compounding.formulary.models import Lot, Order, Product
from compounding.formulary.orders import to_make as active
from compounding.formulary.policy import change_policy, current_policy
from compounding.reckoning.provisioning import provision
from compounding.reckoning.quantities import number_in, of
from tests.checklists.walks import everybody, house, sign_in
from tests.reckoning.enumeration import Shift
from tests.reckoning.vial_oracle import best_by_solver

__all__ = ["everybody", "house"]

HEPARIN = "02430300000215"
EVENING = [
    *(("heparin-d5w-250", "25000 units", hours) for hours in (0.5, 1, 2, 4, 7)),
    *(("ondansetron-syringes", "4 mg", hours) for hours in (1.5, 3, 6)),
    *(("vancomycin-nacl-250", "1100 mg", hours) for hours in (1, 3, 5)),
    *(("ondansetron-nacl-50", "8 mg", hours) for hours in (2, 4, 6)),
    ("norepinephrine-d5w-250", "4 mg", 2),
    ("fluorouracil-nacl-500", "800 mg", 3),
    ("fluorouracil-nacl-500", "700 mg", 4),
    ("aminophylline-d5w-100", "350 mg", 5),
]


def evening() -> None:
    """Five heparin bags and three batches of syringes, among what is never shared."""
    for formulation, dose, hours in EVENING:
        found = stock_batch() if "syringes" in formulation else order(formulation, dose)
        Order.objects.filter(pk=found.pk).update(due_at=timezone.now() + timedelta(hours=hours))


def test_the_plan_saves_containers_volume_and_money(everybody: Cast) -> None:
    """Worked by hand: a heparin bag takes 5 mL of 10, a batch 20 mL and 4 mL of vials of 20 mL."""
    evening()
    screen = run_plan.plan_screen()
    shared = {one.name: one.compared for one in screen.shared}
    heparin = shared["heparin 50,000 units per 10 mL multi-dose vial"]
    syringes = shared["ondansetron 40 mg per 20 mL multi-dose vial"]
    assert [(one.naive.containers, one.planned.containers) for one in (heparin, syringes)] == [(5, 3), (6, 4)]
    assert (heparin.saved, syringes.saved) == (20, 40)
    assert (heparin.planned.kept, syringes.planned.kept) == (5, 8)
    sums = screen.sums
    assert (sums.naive.containers, sums.planned.containers, sums.saved_written) == (28, 24, "60 mL")
    assert sums.saved_price == 2 * Decimal("18.90") + 2 * Decimal("8.50")
    assert sums.naive.wasted - sums.planned.wasted == 25 + 48
    assert screen.is_proved


def test_no_plan_wastes_less_says_an_exact_solver(everybody: Cast) -> None:
    evening()
    groups = shift.shift_of(active(), timezone.now(), current_policy()).groups
    for group in groups:
        plan = provision(group.needs, [group.size], group.lots, is_whole=True)
        best = best_by_solver(in_mg(group))
        assert best is not None
        assert (Fraction(plan.cost), len(plan.takings)) == best, group.product.name
    assert len(groups) == 7


def in_mg(group: shift.Group) -> Shift:
    """The oracle reckons in mg: what is in units or mEq is called mg."""
    size = replace(group.size, content=of(number_in(group.size.content, group.base), "mg"))
    needs = (replace(one, content=of(number_in(one.content, group.base), "mg")) for one in group.needs)
    return Shift(tuple(needs), (size,), group.lots, (), is_whole=True)


def test_nothing_is_shared_that_the_rules_forbid(everybody: Cast) -> None:
    """Ampoules, single-dose and hazardous containers: as many are opened as each order needs for itself."""
    evening()
    screen = run_plan.plan_screen()
    assert {one.name.partition(" ")[0] for one in screen.shared} == {"heparin", "ondansetron"}
    assert all(one.compared.saved_containers == 0 for one in screen.alone)
    assert all(not vessel.is_shared for one in screen.alone for vessel in one.vessels)
    Product.objects.filter(substance__is_hazardous=True).update(is_multi_dose=True)
    assert not any("fluorouracil" in one.name for one in run_plan.plan_screen().shared)


def test_a_dissolved_powder_is_shared_where_the_site_lets_it_serve_again(everybody: Cast) -> None:
    """Two orders of 500 mg from vials of 1 g: one vial instead of two."""
    for _order in range(2):
        order("cefazolin-nacl-100", "500 mg")
    assert run_plan.plan_screen().shared == ()
    change_policy(reason="vials are shared", by="test", shares_dissolved=True)
    (product,) = run_plan.plan_screen().shared
    assert (product.compared.naive.containers, product.compared.planned.containers) == (2, 1)


def opened(everybody: Cast, product: str = HEPARIN) -> OpenedContainer:
    """A vial opened for an earlier order, which is given up since."""
    work = hands(everybody, order("heparin-d5w-250", "25000 units")).to("first_check")
    run.abandon(code=work.code, person=work.technician, key=key(), reason="called away for the day")
    Order.objects.update(state="cancelled", reason="not wanted", closed_by="x", closed_at=timezone.now())
    return OpenedContainer.objects.create(
        code="CTESTVIAL",
        lot=Lot.objects.get(product__gtin=product, state="available"),
        first=work.preparation.materials.get(container="vial 1"),
        opened_for=work.preparation,
        opened_at=timezone.now() - timedelta(days=2),
        opened_by=work.technician,
        use_ends_at=timezone.now() + timedelta(days=26),
        left_ml=5,
    )


def test_what_stands_open_is_taken_up_first_unless_its_time_is_over(everybody: Cast) -> None:
    vial = opened(everybody)
    order("heparin-d5w-250", "25000 units")
    (product,) = run_plan.plan_screen().shared
    (vessel,) = product.vessels
    assert (vessel.name, vessel.is_open) == (codes.grouped(vial.code), True)
    assert (product.compared.naive.containers, product.compared.planned.containers) == (1, 0)
    vial.use_ends_at = timezone.now() + timedelta(minutes=5)  # the order is due later
    vial.save()
    assert run_plan.plan_screen().shared == ()


def test_companions_due_within_an_hour_come_together_and_others_in_their_time(everybody: Cast) -> None:
    evening()
    at = [one.what.partition(" ")[0] for one in run_plan.plan_screen().turn]
    assert at[:4] == ["heparin", "heparin", "vancomycin", "ondansetron"]
    assert at[-1] == "heparin"


def test_a_plan_put_up_is_the_turn_of_the_list_and_forces_nothing(everybody: Cast) -> None:
    evening()
    pharmacist, technician = everybody["pharmacist"], everybody["technician"]
    browser = sign_in(pharmacist)
    assert browser.post("/stock/plan/up/", {"key": "up once"}).status_code == 302
    browser.post("/stock/plan/up/", {"key": "up once"})
    assert RunPlan.objects.count() == 1
    urgent = order("famotidine-nacl-100", "20 mg")
    Order.objects.filter(pk=urgent.pk).update(due_at=timezone.now() + timedelta(minutes=5))
    screen = to_make(technician)
    assert screen.plan is not None
    assert screen.rows[0].number == urgent.number, "what came later and is more urgent is not buried"
    assert [bool(row.note) for row in screen.rows] == [False, True, True, False]
    page = sign_in(technician).get("/make/").content.decode()
    assert "Ilse Varga’s run plan" in page
    assert "take the one opened for" in page
    last = run_plan.plan_screen().turn[-1]
    run.open_preparation(number=last.number, person=technician, key=key())
    browser.post("/stock/plan/gone/")
    assert to_make(technician).plan is None


def test_the_page_tells_no_volume_that_a_checker_will_read_blind(everybody: Cast) -> None:
    evening()
    page = sign_in(everybody["pharmacist"]).get("/stock/plan/").content.decode()
    assert "4 containers stay closed:" in page
    assert "54.80" in page
    for volume in (">5 mL", " 5 mL", "24 mL", "22 mL", "16 mL"):
        assert volume not in page


def test_an_empty_shift_has_no_plan_and_an_order_that_cannot_be_made_is_named(everybody: Cast) -> None:
    with pytest.raises(NothingToPlan):
        run.put_plan_up(rows=[], person=everybody["pharmacist"], key=key())
    order("heparin-d5w-250", "25000 units")
    Lot.objects.filter(product__gtin=HEPARIN).update(state="quarantined")
    screen = run_plan.plan_screen()
    ((left_out, why),) = screen.left_out
    assert (screen.turn, left_out.what) == ((), "heparin 25,000 units")
    assert "heparin" in why
