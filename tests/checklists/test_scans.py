"""Scans: the right product, lot and expiry; a fit hood; this very preparation's label.

Hazardous drugs never in horizontal flow: USP <800>, memory; 30 minutes running: common practice, no source.
"""

from __future__ import annotations

import html
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from cast import Cast, Hands, element_string, hands, key, order, usable_lot
from checklists import run
from checklists.models import Hood
from compounding.formulary import codes
from compounding.formulary.models import Lot, Product
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import beside, everything, sign_in


@pytest.fixture(scope="module")
def gathering(house: Cast) -> Hands:
    """A preparation whose first vial is asked for."""
    return hands(house, order("vancomycin-nacl-250", "1100 mg")).to("gather_container")


@pytest.fixture(scope="module")
def entering(house: Cast) -> Hands:
    """A hazardous preparation before its hood."""
    asked = order("fluorouracil-nacl-500", "800 mg")
    work = Hands(house, asked, house["second technician"], house["pharmacist"])
    return work.open().to("identify_hood")


def refused(work: Hands, scan: str) -> str:
    before = everything()
    with pytest.raises(Refusal) as refusal:
        work.finish(work.step, scan=scan)
    assert everything() == before
    return refusal.value.sentence


def vial(work: Hands) -> Lot:
    return usable_lot(work.worksheet.container("vial 1").product)


def test_another_product_is_named_and_refused(everybody: Cast, gathering: Hands) -> None:
    other = usable_lot(Product.objects.get(name__startswith="ketorolac").gtin)
    said = refused(gathering, element_string(other))
    assert said.startswith("This is ketorolac")
    assert "Wanted is vancomycin 1 g powder vial" in said


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"state": "quarantined"}, "is in quarantine. Take another lot"),
        ({"state": "recalled"}, "is recalled. Do not use it"),
        ({"expires_on": timezone.localdate() - timedelta(days=1)}, "expired on"),
    ],
    ids=["quarantined", "recalled", "expired"],
)
def test_a_lot_that_may_not_be_used_is_refused(
    everybody: Cast, gathering: Hands, change: dict[str, object], sentence: str
) -> None:
    lot = vial(gathering)
    Lot.objects.filter(pk=lot.pk).update(**change)
    lot.refresh_from_db()
    assert sentence in refused(gathering, element_string(lot))


def test_an_expiry_that_is_not_the_one_on_file_is_refused(everybody: Cast, gathering: Hands) -> None:
    lot = vial(gathering)
    lot.expires_on += timedelta(days=31)
    assert "on file it expires" in refused(gathering, element_string(lot))


def test_a_lot_never_received_is_refused(everybody: Cast, gathering: Hands) -> None:
    lot = vial(gathering)
    lot.number = "ZZ9999"
    assert "Lot ZZ9999 of vancomycin 1 g powder vial is not in stock here" in refused(
        gathering, element_string(lot)
    )


def test_one_container_is_not_scanned_for_two(everybody: Cast, gathering: Hands) -> None:
    scan = element_string(vial(gathering)) + "(21)S1"
    gathering.finish(gathering.step, scan=scan)
    assert refused(gathering, scan) == (
        "The container with serial S1 was scanned already. Scan the next one."
    )
    gathering.finish(gathering.step, scan=scan.replace("S1", "S2"))


AT_THE_SHELF = {
    "another product": ("ketorolac", lambda work: element_string(usable_lot(KETOROLAC))),
    "a lot nobody received": ("ZZ9999", lambda work: element_string(vial(work)).replace("HV2298", "ZZ9999")),
    "a product number with a wrong digit": ("219", lambda work: "(01)02410100000218(17)271130(10)HV2311"),
    "no lot": ("(17)271130", lambda work: "(01)02410100000219(17)271130"),
    "a label of ours": ("", lambda work: codes.make("L", 417)),
    "a hood": ("", lambda work: work.cast.hood.code),
    "words": ("the vial", lambda work: "the vial"),
}
KETOROLAC = "02430300000352"


@pytest.mark.parametrize("what", AT_THE_SHELF)
def test_what_was_scanned_and_what_was_wanted_stand_beside_each_refusal(
    everybody: Cast, gathering: Hands, what: str
) -> None:
    found, make = AT_THE_SHELF[what]
    scan = make(gathering)
    form = {"key": key(), "scan": scan}
    where = reverse("finish_step", args=[gathering.code, gathering.step.place])
    answer = sign_in(gathering.technician).post(where, form)
    page = html.unescape(answer.content.decode())
    assert answer.status_code == 409
    assert f'value="{scan}"' in page
    assert found in page
    assert "vancomycin 1 g powder vial" in page
    assert "02410100000219" in page


BAD_SCANS = (
    "", " ", "vial", "-1", "1,5", "1e3", "10 mL", "x" * 10_000, "\0", "a\0b", "😀", "1.50", ".5", "٣",
    "(01)", "(01)123", "(01)02420200000217(17)999999(10)A", "]d2", "01" * 60, "HCRHE6CTP", "P00000000",
)  # fmt: skip


@pytest.mark.parametrize("scan", BAD_SCANS, ids=lambda text: ascii(text[:12]))
def test_what_is_no_containers_code_is_refused_in_words(everybody: Cast, gathering: Hands, scan: str) -> None:
    assert refused(gathering, scan).endswith((".", "…"))


@pytest.mark.parametrize("scan", BAD_SCANS, ids=lambda text: ascii(text[:12]))
def test_what_is_no_hoods_code_is_refused_in_words(everybody: Cast, entering: Hands, scan: str) -> None:
    assert refused(entering, scan).endswith((".", "…"))


def test_a_hood_nobody_knows_is_refused(everybody: Cast, entering: Hands) -> None:
    code = codes.make("H", 5)
    assert refused(entering, code) == (
        f"No hood is named {codes.grouped(code)}. Scan the badge on the hood itself."
    )


def test_a_hazardous_drug_does_not_enter_horizontal_flow(everybody: Cast, entering: Hands) -> None:
    assert refused(entering, everybody.hood.code) == (
        "Hood 1 is not for hazardous drugs. Use the vertical-flow hood kept for them."
    )
    entering.finish(entering.step, scan=everybody.vertical.code)
    assert entering.preparation.hood == everybody.vertical


def test_a_hood_whose_certificate_ran_out_is_refused(everybody: Cast, entering: Hands) -> None:
    Hood.objects.filter(name="Hood 3").update(certified_until=timezone.localdate() - timedelta(days=1))
    assert refused(entering, everybody.vertical.code).startswith("The certificate of Hood 3 ended on ")


def test_a_hood_serves_on_the_last_day_of_its_certificate(everybody: Cast, entering: Hands) -> None:
    Hood.objects.filter(name="Hood 3").update(certified_until=timezone.localdate())
    entering.finish(entering.step, scan=everybody.vertical.code)
    assert entering.preparation.hood is not None


def test_a_hood_that_has_not_run_long_enough_is_refused(everybody: Cast, entering: Hands) -> None:
    since = timezone.now() - timedelta(minutes=29)
    Hood.objects.filter(name="Hood 3").update(running_since=since)
    ready = timezone.localtime(since + timedelta(minutes=30))
    assert refused(entering, everybody.vertical.code) == (
        f"Hood 3 must run 30 minutes before it is used. It is ready at {ready:%H:%M}."
    )


def test_a_hood_that_is_off_is_refused(everybody: Cast, entering: Hands) -> None:
    Hood.objects.filter(name="Hood 3").update(running_since=None)
    assert "It is not recorded as switched on." in refused(entering, everybody.vertical.code)


def test_a_hood_is_not_switched_off_over_work(everybody: Cast, entering: Hands) -> None:
    entering.finish(entering.step, scan=everybody.vertical.code)
    before = everything()
    with pytest.raises(Refusal, match="Hood 3 holds"):
        run.switch_hood(hood=everybody.vertical, to="off")
    assert everything() == before


def test_a_lot_that_ends_earlier_shortens_the_beyond_use_time(everybody: Cast) -> None:
    """The worksheet is dated by the lot that expires first; a still shorter one that was scanned binds."""
    asked = order("ondansetron-nacl-50", "8 mg")
    work = beside(everybody, asked).to("gather_container")
    lot = vial(work)
    Lot.objects.filter(pk=lot.pk).update(expires_on=timezone.localdate() + timedelta(days=1))
    lot.refresh_from_db()
    work.finish(work.step, scan=element_string(lot))
    assert work.preparation.beyond_use_at == lot.expires_at


def test_a_scan_sent_twice_is_one_container(everybody: Cast, gathering: Hands) -> None:
    once, place = key(), gathering.step.place
    for _sent in range(2):
        run.finish_step(
            code=gathering.code,
            person=gathering.technician,
            key=once,
            place=place,
            given={"scan": element_string(vial(gathering))},
        )
    assert gathering.preparation.materials.count() == 1
