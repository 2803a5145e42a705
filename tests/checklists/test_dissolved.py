"""A powder vial dissolved for one order serves the next, as long as the first one's record vouches for it.

Rules: the issue (reconstitution shared between preparations). A punctured single-dose vial in ISO 5 may be
used for 12 hours: USP <797> (2023), memory. Hazardous powders are not shared: common practice, no source.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from cast import Cast, Hands, element_string, key, order
from checklists import clocks, run
from checklists.audit import first_fault
from checklists.collation import differences
from checklists.models import Hold, OpenedContainer
from checklists.refusals import (
    ContainerDiscarded,
    ContainerOver,
    HeldByAnother,
    NotEnoughLeft,
    OpenedTooLong,
    UsedForAnother,
)
from checklists.remains import Remains
from checklists.run import stock
from compounding.formulary.models import Product, Substance
from compounding.formulary.policy import change_policy, current_policy
from tests.checklists.dissolving import (
    DILUENT,
    DRUG,
    LEFT,
    by_reason,
    drawn,
    first,
    gathering,
    next_one,
    origin_of,
    refused,
    sharing,
    steps,
    vial_of,
)
from tests.checklists.test_mishaps import say
from tests.checklists.walks import beside, sign_in, words

__all__ = ["drawn", "first", "gathering", "sharing"]


# ---------------------------------------------------------------- taken


def test_a_dissolved_vial_is_kept_where_the_site_shares_and_what_is_spent_is_not(
    everybody: Cast, first: Hands
) -> None:
    kept = OpenedContainer.objects.filter(opened_for=first.preparation, discarded_at=None)
    assert [(one.lot.product.kind, one.left_ml) for one in kept] == [("powder-vial", LEFT)]


def test_scanned_it_ends_every_step_that_dissolves_it_and_says_why(
    everybody: Cast, first: Hands, gathering: Hands
) -> None:
    planned = steps(gathering)
    gathering.finish(gathering.step, scan=vial_of(first).code)
    gone = ["gather_container", "draw", "show", "add_diluent_to_vial", "dissolve"]
    assert sorted(steps(gathering)) == sorted(_less(planned, ["gather_container", *gone]))
    told = json.loads(gathering.preparation.entries.get(act="dissolved before").text)["facts"]
    assert (told["preparation"], told["opened"], told["ended"]) == (first.code, vial_of(first).code, gone)
    assert told["amounts"] == [
        {
            "draw": DILUENT, "required": "20 mL", "drawn": "20 mL", "seen": "20 mL",
            "drawn_by": first.technician.name, "seen_by": first.checker.name,
        }
    ]  # fmt: skip
    ended = gathering.preparation.steps.filter(reason__startswith="dissolved for")
    assert sorted(ended.values_list("kind", flat=True)) == sorted(gone)
    assert first_fault(gathering.preparation) is None
    assert not [*differences(gathering.preparation)]


def _less(kinds: list[str], gone: list[str]) -> list[str]:
    left = list(kinds)
    for kind in gone:
        left.remove(kind)
    return left


def test_it_goes_to_release_without_the_diluents_three_amounts(everybody: Cast, sharing: Hands) -> None:
    sharing.to_release()
    assert sharing.preparation.state == "released"
    assert [one.draw for one in sharing.preparation.readings.all()] == [DRUG]
    assert first_fault(sharing.preparation) is None
    assert "add_diluent_to_vial" not in sharing.done


def test_the_remainder_and_the_clock_are_those_of_the_first_puncture(everybody: Cast, sharing: Hands) -> None:
    origin = origin_of(sharing)
    vial = vial_of(origin)
    clock = next(
        one
        for one in clocks.running(sharing.preparation, current_policy(), timezone.now())
        if one.of == "vial 1"
    )
    assert (clock.since, clock.until) == (vial.opened_at, vial.use_ends_at)
    assert sharing.preparation.beyond_use_at == vial.use_ends_at
    assert Remains(sharing.preparation).holds["vial 1"] == LEFT
    sharing.to("dispose")
    assert vial_of(origin).left_ml == LEFT - 5
    label = sharing.preparation.labels.get()
    assert any(f"{timezone.localtime(vial.use_ends_at):%H:%M}" in line["text"] for line in label.words)


def test_it_serves_a_third_and_then_goes_to_the_waste(everybody: Cast, sharing: Hands) -> None:
    vial = vial_of(origin_of(sharing))
    sharing.to("final_check")
    third = next_one(everybody)
    assert "3 mL are left; 5 mL are to be drawn" in refused(third, NotEnoughLeft, scan=vial.code)
    OpenedContainer.objects.filter(pk=vial.pk).update(left_ml=5)
    third.finish(third.step, scan=vial.code)
    third.to("final_check")
    vial.refresh_from_db()
    assert vial.discarded_at


def test_of_two_vials_the_other_is_still_dissolved(everybody: Cast, first: Hands) -> None:
    """1,250 mg take 25 mL: 12.5 mL of each of two vials; the dissolved one is thought fuller than it is."""
    OpenedContainer.objects.filter(pk=vial_of(first).pk).update(left_ml=20)
    work = next_one(everybody, "1250 mg")
    work.finish(work.step, scan=vial_of(first).code)
    kinds = steps(work)
    assert kinds.count("gather_container") == 3, "the other vial, its diluent and the bag"
    shown = [one.about["draws"] for one in work.preparation.steps.filter(kind="show", finished_at=None)]
    assert shown == [[2], [3]]
    assert work.preparation.steps.get(kind="dissolve").about["containers"] == ["vial 2"]
    work.to_release()
    assert work.preparation.state == "released"


# ---------------------------------------------------------------- not taken


def share(is_shared: bool) -> Callable[[Hands], object]:
    return lambda first: change_policy(reason="decided anew", by="test", shares_dissolved=is_shared)


NOT_TAKEN: dict[str, tuple[Callable[[Hands], object], type[Exception], str]] = {
    "the site does not share": (share(False), UsedForAnother, "serves one preparation only"),
    "its hours are over": (
        lambda first: OpenedContainer.objects.update(use_ends_at=timezone.now()),
        OpenedTooLong,
        "its use ended",
    ),
    "too little is left": (
        lambda first: OpenedContainer.objects.update(left_ml=Decimal("4.9")),
        NotEnoughLeft,
        "4.9 mL are left; 5 mL are to be drawn",
    ),
    "it is in the waste": (
        lambda first: run.discard_container(code=vial_of(first).code, person=first.technician),
        ContainerDiscarded,
        "was put to the waste",
    ),
}


@pytest.mark.parametrize("what", NOT_TAKEN)
def test_a_dissolved_vial_is_refused_in_words_when(
    everybody: Cast, first: Hands, gathering: Hands, what: str
) -> None:
    put, kind, sentence = NOT_TAKEN[what]
    put(first)
    assert sentence in refused(gathering, kind, scan=vial_of(first).code)


def test_one_vial_stands_at_one_work(everybody: Cast, gathering: Hands, sharing: Hands) -> None:
    assert "is gathered for" in refused(gathering, HeldByAnother, scan=vial_of(origin_of(sharing)).code)


def test_a_hazardous_powder_is_never_shared(everybody: Cast, first: Hands) -> None:
    Substance.objects.filter(products__kind="powder-vial").update(is_hazardous=True)
    work = next_one(everybody)
    assert "serves one preparation only" in refused(work, UsedForAnother, scan=vial_of(first).code)
    Product.objects.filter(kind="powder-vial").update(is_multi_dose=True)
    assert "serves one preparation only" in refused(work, UsedForAnother, scan=vial_of(first).code)


def test_its_makers_code_with_the_serial_number_does_as_well(
    everybody: Cast, first: Hands, gathering: Hands
) -> None:
    vial = vial_of(first)
    gathering.finish(gathering.step, scan=element_string(vial.lot, vial.serial))
    assert gathering.preparation.materials.get().opened == vial


# ---------------------------------------------------------------- between gathering and release


def test_a_vial_whose_hours_end_meanwhile_is_not_drawn_from(everybody: Cast, sharing: Hands) -> None:
    OpenedContainer.objects.update(use_ends_at=timezone.now())
    assert "Vial 1 was opened at" in refused(sharing, ContainerOver, stands="at the mark")


def test_a_vial_put_to_the_waste_or_emptied_meanwhile_is_not_drawn_from(
    everybody: Cast, sharing: Hands
) -> None:
    OpenedContainer.objects.update(left_ml=4)
    assert "4 mL are left" in refused(sharing, NotEnoughLeft, stands="at the mark")
    run.discard_container(code=vial_of(origin_of(sharing)).code, person=sharing.technician)
    assert "was put to the waste" in refused(sharing, ContainerDiscarded, stands="at the mark")


def test_what_was_drawn_after_its_time_is_not_released(everybody: Cast, drawn: Hands) -> None:
    OpenedContainer.objects.filter(taken_again__preparation=drawn.preparation).update(
        use_ends_at=drawn.preparation.opened_at
    )
    assert [*by_reason(drawn)] == ["dissolved-elsewhere"]


def test_one_that_falls_is_replaced_by_a_new_vial_that_is_dissolved_here(
    everybody: Cast, sharing: Hands
) -> None:
    """The diluent that nobody had gathered comes with it; the new vial's three amounts are taken here."""
    say(sharing, "broken-container", "vial 1")
    assert sharing.step.about == {"container": "vial 2", "like": "vial 1"}
    assert [one.about["container"] for one in sharing.preparation.steps.filter(
        kind="gather_container", finished_at=None
    )] == ["vial 2", "diluent vial 2"]  # fmt: skip
    sharing.to_release()
    assert sharing.preparation.state == "released"
    assert sorted(one.draw for one in sharing.preparation.readings.all()) == [DILUENT, DRUG]
    waste = [(one.container, one.draw, one.volume_ml) for one in sharing.preparation.waste.all()]
    assert sum(volume for key, _draw, volume in waste if key == "vial 1") == LEFT
    assert not [one for one in waste if one[0].startswith("diluent")]


def test_a_dissolved_vial_does_not_take_the_place_of_one_that_falls(
    everybody: Cast, first: Hands, gathering: Hands
) -> None:
    gathering.to("draw")
    say(gathering, "broken-container", "vial 1")
    assert "serves one preparation only" in refused(gathering, UsedForAnother, scan=vial_of(first).code)


def test_a_recall_of_its_diluent_stops_the_work_that_borrowed_it(everybody: Cast, sharing: Hands) -> None:
    first = origin_of(sharing)
    lot = first.preparation.materials.get(container="diluent vial 1").lot
    bystander = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to("draw")
    run.change_lot(lot=lot, to="recalled", reason="haze", person=everybody["supervisor"], key=key())
    for work in (first, sharing):
        assert work.preparation.holds.get(resolved_at=None).cause == Hold.Cause.LOT_RECALLED
    assert not bystander.preparation.holds.exists()
    stock.stop_work_with(lot, everybody["supervisor"])
    assert sharing.preparation.holds.count() == 1


# ---------------------------------------------------------------- seen


def test_the_record_and_the_final_check_show_where_it_was_dissolved(everybody: Cast, sharing: Hands) -> None:
    first = origin_of(sharing)
    sharing.to("final_check")
    phone = sign_in(sharing.checker)
    place = sharing.step.place
    for page in (
        phone.get(reverse("check", args=[sharing.code, place])),
        sign_in(everybody["supervisor"]).get(reverse("record", args=[sharing.code])),
    ):
        said = words(page)
        assert "Dissolved before" in said
        assert f"{first.code[:1]} {first.code[1:5]} {first.code[5:]}" in said
        assert "20 mL" in said
        assert first.technician.name in said
    assert len(by_reason(sharing)) == 1
    with time_machine.travel(timezone.now() + timedelta(hours=13)):
        assert "beyond-use-lapsed" in by_reason(sharing)
