"""Batches of syringes that are filled from several: each numbered syringe goes over into its own final one.

Rules: the issue (batches) and shared design 1 (filled syringes lying together); no other source.
"""

from __future__ import annotations

import json
from collections import defaultdict
from decimal import Decimal

import pytest

from cast import Cast, Hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.counting import items_left
from checklists.method.batch import items_of
from checklists.models import Stamp
from checklists.refusals import NotThisUnit
from checklists.remains import Remains
from compounding.formulary.models import Formulation, FormulationIngredient
from compounding.reckoning.quantities import number_in
from tests.checklists.walks import beside, sign_in, words

NOBODY = {"patient_name": "", "patient_identifier": "", "born_on": "", "allergies": "", "prescriber": ""}


def let_it_hold_ketorolac_too() -> None:
    """Let the demo's syringes for stock hold a second drug: it has none that are filled from two."""
    formulation = Formulation.objects.get(code="ondansetron-syringes")
    ketorolac = FormulationIngredient.objects.get(formulation__code="ketorolac-syringe")
    products = list(ketorolac.allowed_products.all())
    ketorolac.pk, ketorolac.position, ketorolac.formulation = None, 2, formulation
    ketorolac.save()
    ketorolac.allowed_products.set(products)


@pytest.fixture(scope="module")
def pushing(house: Cast) -> Hands:
    """Three final syringes of 2 mL and 1 mL (4 mg at 2 mg/mL, 30 mg at 30 mg/mL); the first drug is seen."""
    let_it_hold_ketorolac_too()
    asked = order("ondansetron-syringes", "4 mg|30 mg", units="3", **NOBODY)
    return beside(house, asked).to("push_units")


def left(work: Hands) -> list[int]:
    return [item.number for item in items_left(work.step, work.worksheet)]


def went_over(work: Hands) -> dict[str, list[Decimal]]:
    """Return what the record says was pushed into each final syringe."""
    found: dict[str, list[Decimal]] = defaultdict(list)
    for mark in Stamp.objects.filter(step__preparation=work.preparation, step__kind="push_units"):
        item = next(one for one in items_of(mark.step.about, work.worksheet) if one.number == mark.unit)
        draw = work.worksheet.draw(item.draw)
        found[draw.destination].append(number_in(draw.target, "mL"))
    return dict(found)


def test_every_final_syringe_gets_all_that_is_drawn_for_it(everybody: Cast, pushing: Hands) -> None:
    pushing.to_release()
    assert went_over(pushing) == {f"syringe {unit}": [2, 1] for unit in (1, 2, 3)}
    assert [kind for kind in pushing.done if kind.endswith("_units")] == [
        "draw_units", "push_units", "draw_units", "push_units", "cap_units", "label_units",
    ]  # fmt: skip
    assert pushing.preparation.state == "released"
    assert first_fault(pushing.preparation) is None


def test_one_after_the_other_by_number_and_none_twice(everybody: Cast, pushing: Hands) -> None:
    pushing.do_unit()
    with pytest.raises(NotThisUnit):
        push(pushing, "3")
    push(pushing, "1")
    assert left(pushing) == [2, 3]
    assert Remains(pushing.preparation).in_hand == [2, 3]
    assert Remains(pushing.preparation).is_filled


def push(work: Hands, unit: str) -> None:
    place = work.step.place
    run.finish_step(code=work.code, person=work.technician, key=key(), place=place, given={"unit": unit})


def test_a_rejected_unit_is_neither_pushed_over_nor_capped(everybody: Cast, pushing: Hands) -> None:
    pushing.reject(2)
    assert left(pushing) == [1, 3]
    pushing.to("draw_units")
    assert left(pushing) == [1, 3]
    pushing.to("cap_units").reject(3)
    assert left(pushing) == [1]
    pushing.to_release()
    assert went_over(pushing) == {"syringe 1": [2, 1], "syringe 3": [2, 1]}
    told = json.loads(pushing.preparation.entries.get(act="reconcile").text)["facts"]
    assert (told["planned"], told["rejected"], told["in_hand"]) == (3, 2, 1)


def test_the_screens_name_the_final_syringe(everybody: Cast, pushing: Hands) -> None:
    browser = sign_in(pushing.technician)
    said = words(browser.get(f"/make/{pushing.code}/"))
    assert "join to final syringe 1" in said
    assert "Syringe 1 into final syringe 1" in said
    pushing.to("cap_units").do_unit()
    said = words(browser.get(f"/make/{pushing.code}/"))
    assert "Cap the final syringe; lay it in place 2" in said
