"""Many containers alike on one screen: counted, and each still scanned by itself.

Rule: the issue; that every container is scanned, never one for two: ISMP, memory.
"""

from __future__ import annotations

import pytest

from cast import Cast, Hands, element_string, fresh, order, usable_lot
from checklists import run
from checklists.audit import first_fault
from checklists.collation import differences
from checklists.counting import items_left
from checklists.refusals import NotThisUnit, SameContainerTwice
from compounding.formulary.models import Formulation
from tests.checklists.walks import beside, everything, sign_in, words

NOBODY = {"patient_name": "", "patient_identifier": "", "born_on": "", "allergies": "", "prescriber": ""}


@pytest.fixture(scope="module")
def gathering(house: Cast) -> Hands:
    """Five bags of 50 mL, after their vials: a batch that the demo's formulary does not have."""
    Formulation.objects.filter(code="ondansetron-nacl-50").update(most_units=24)
    work = beside(house, order("ondansetron-nacl-50", "8 mg", units="5", **NOBODY))
    while not (work.step.kind == "gather_each" and work.step.about["containers"][0] == "bag 1"):
        work.do()
    return work


def scan(work: Hands, text: str, number: int) -> None:
    given, place = {"scan": text, "unit": str(number)}, work.step.place
    run.finish_step(code=work.code, person=work.technician, key=f"{text} {number}", place=place, given=given)


def bag(work: Hands, serial: str) -> str:
    return element_string(usable_lot(work.worksheet.container("bag 1").product), serial)


def test_each_container_is_scanned_and_counted_by_itself(everybody: Cast, gathering: Hands) -> None:
    step = gathering.step
    scan(gathering, bag(gathering, "A1"), 1)
    scan(gathering, bag(gathering, "A2"), 2)
    assert [item.container for item in items_left(step, gathering.worksheet)] == ["bag 3", "bag 4", "bag 5"]
    taken = gathering.preparation.materials.filter(container__startswith="bag").order_by("pk")
    assert [(one.container, one.serial) for one in taken] == [("bag 1", "A1"), ("bag 2", "A2")]
    assert gathering.step == step


def test_one_container_is_not_two_and_a_double_scan_counts_once(everybody: Cast, gathering: Hands) -> None:
    scan(gathering, bag(gathering, "A1"), 1)
    before = everything()
    with pytest.raises(SameContainerTwice):
        scan(gathering, bag(gathering, "A1"), 2)
    with pytest.raises(NotThisUnit):
        scan(gathering, bag(gathering, "A3"), 3)
    assert everything() == before
    scan(gathering, bag(gathering, "A9"), 1)
    assert gathering.preparation.materials.filter(container__startswith="bag").count() == 1


def test_the_screen_counts_and_the_spine_has_one_mark_for_all(everybody: Cast, gathering: Hands) -> None:
    scan(gathering, fresh(gathering.worksheet.container("bag 1").product), 1)
    said = words(sign_in(gathering.technician).get(f"/make/{gathering.code}/"))
    assert "Take bag 2 and scan it" in said
    assert "2 of 5" in said
    assert "Numbered places: 1 of 5 done" in str(
        sign_in(gathering.technician).get(f"/make/{gathering.code}/").content
    )
    assert gathering.preparation.steps.filter(kind="gather_each").count() == 2, "vials and bags"


def test_it_goes_to_release_and_its_record_holds(everybody: Cast, gathering: Hands) -> None:
    gathering.to_release()
    assert gathering.preparation.state == "released"
    assert gathering.preparation.materials.count() == len(gathering.worksheet.containers)
    assert first_fault(gathering.preparation) is None
    assert not [*differences(gathering.preparation)]
