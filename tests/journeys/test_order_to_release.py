"""Every kind of preparation in the demo formulary goes from its order to its release."""

from __future__ import annotations

import pytest
from django.utils import timezone

from cast import cast, hands, order, stock_batch
from checklists import gate
from checklists.audit import first_fault
from checklists.models import OpenedContainer
from compounding.formulary.models import Order
from compounding.formulary.policy import change_policy

pytestmark = pytest.mark.django_db


def today() -> str:
    return timezone.localdate().isoformat()


CASES = [
    pytest.param(lambda: order("vancomycin-nacl-250", "1100 mg"), "dissolve", id="powder vial into a bag"),
    pytest.param(lambda: order("ondansetron-nacl-50", "8 mg"), "add", id="solution vial into a bag"),
    pytest.param(
        lambda: order("aminophylline-d5w-100", "500 mg"), "change_needle", id="ampoule, diluent withdrawn"
    ),
    pytest.param(lambda: order("norepinephrine-d5w-250", "4 mg"), "open_ampoule", id="ampoule into a bag"),
    pytest.param(
        lambda: order("potassium-magnesium-nacl-1000", "20 mEq|2 g"),
        "add",
        id="two additives, one ordered in mEq",
    ),
    pytest.param(lambda: order("heparin-d5w-250", "25000 units"), "add", id="units of activity"),
    pytest.param(
        lambda: order("acyclovir-nacl-250", "10 mg/kg", body_weight="62 kg", weighed_on=today()),
        "add",
        id="by weight",
    ),
    pytest.param(lambda: order("ketorolac-syringe", "30 mg"), "cap_syringe", id="into a syringe"),
    pytest.param(
        lambda: order("fluorouracil-nacl-500", "800 mg"), "deactivate", id="hazardous, vertical flow"
    ),
    pytest.param(
        lambda: order("bicarbonate-d5w-250", "50 mEq"), "join_prefilled", id="prefilled syringe into a bag"
    ),
    pytest.param(
        lambda: order("famotidine-nacl-100", "20 mg"), "site_step", id="with a step of the site's own"
    ),
    pytest.param(stock_batch, "draw_units", id="batch of twelve syringes"),
]


@pytest.mark.parametrize(("make", "kind"), CASES)
def test_it_is_released_and_its_record_holds(make, kind: str) -> None:
    everybody = cast()
    work = hands(everybody, make()).to_release()
    assert work.preparation.state == "released"
    assert kind in work.done
    assert first_fault(work.preparation) is None
    assert Order.objects.count() == 1


def test_a_vial_dissolved_for_one_order_serves_the_next_and_both_are_released() -> None:
    """The second never draws the diluent, and its record names the first; the gate looks that up there."""
    everybody = cast()
    change_policy(reason="the committee allows it", by="test", shares_dissolved=True)
    first = hands(everybody, order("vancomycin-nacl-250", "600 mg")).to_release()
    vial = OpenedContainer.objects.get(discarded_at=None)
    second = hands(everybody, order("vancomycin-nacl-250", "250 mg")).to("gather_container")
    second.finish(second.step, scan=vial.code)
    second.to("release")
    assert gate.blockers(second.preparation, second.checker, timezone.now()) == ()
    second.release()
    assert [work.preparation.state for work in (first, second)] == ["released", "released"]
    assert "dissolve" in first.done
    assert "dissolve" not in second.done
    assert first.code in second.preparation.entries.get(act="dissolved before").text
    assert first_fault(second.preparation) is None
