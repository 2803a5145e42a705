"""What a scanned text is, and every reason why a container may not be used, each its own refusal."""

import contextlib
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.formulary import codes, gs1, scanning
from compounding.formulary.codes import OwnCode
from compounding.formulary.gs1 import ProductScan
from compounding.formulary.models import Lot, Product
from compounding.formulary.refusals import (
    CodeMistyped,
    DoneCardScanned,
    ExpiryDiffers,
    LotExpired,
    LotQuarantined,
    LotRecalled,
    NotAProductScan,
    NothingScanned,
    OtherCodeWanted,
    SeparatorLost,
    UnknownLot,
    WrongProduct,
)
from compounding.reckoning.refusals import Refusal
from tests.formulary.fixed import NOW

TEXT = "010039999900101417271130" + "10AB12"


def lot(number: str) -> Lot:
    return Lot.objects.select_related("product").get(number=number)


def scan_of(found: Lot, **other: object) -> ProductScan:
    facts = {"gtin": found.product.gtin, "lot": found.number, "expires_on": found.expires_on, **other}
    return gs1.read(gs1.written(**facts))  # type: ignore[arg-type]


def test_a_products_code_and_a_code_of_ours_are_told_apart() -> None:
    badge = codes.make("B", 5)
    assert isinstance(scanning.read(TEXT), ProductScan)
    assert scanning.read(codes.grouped(badge)) == OwnCode("B", badge)


def test_a_scanner_that_shows_its_separator_and_ends_with_enter_is_understood() -> None:
    assert scanning.read(f"  {TEXT}␝21S77\r\n").serial == "S77"  # type: ignore[union-attr]


@pytest.mark.parametrize("text", ["", "   ", "\r\n", "\x1d", "\t\x1d "])
def test_nothing_scanned_says_so(text: str) -> None:
    with pytest.raises(NothingScanned):
        scanning.read(text)


@pytest.mark.parametrize("text", ["0" * 121, "01\x00", "vancomycin", "Äpfel", "\x1d\x1dB"])
def test_any_other_text_is_refused_with_what_to_do(text: str) -> None:
    with pytest.raises((NotAProductScan, Refusal)) as refused:
        scanning.read(text)
    assert "Scan" in refused.value.sentence


@given(st.text("0171021()]dC\x1d␝ABP", max_size=130) | st.text(max_size=130))
def test_no_text_is_a_fault_of_the_program(text: str) -> None:
    with contextlib.suppress(Refusal):
        assert isinstance(scanning.read(text), ProductScan | OwnCode)


def test_a_code_of_ours_is_no_product() -> None:
    with pytest.raises(NotAProductScan):
        scanning.read_product(codes.make("P", 5))


def test_the_wanted_kind_of_code_is_returned_without_spaces() -> None:
    hood = codes.make("H", 9)
    assert scanning.read_own_code(codes.grouped(hood), "H") == hood


def test_another_kind_of_code_names_both() -> None:
    with pytest.raises(OtherCodeWanted, match=r"a badge.*the code of a hood"):
        scanning.read_own_code(codes.make("B", 9), "H")
    with pytest.raises(OtherCodeWanted, match=r"product.*the code of a hood"):
        scanning.read_own_code(TEXT, "H")


def test_a_mistyped_code_of_ours_is_not_taken_for_another() -> None:
    with pytest.raises(CodeMistyped):
        scanning.read(codes.make("B", 9)[:-1] + "Z")


@pytest.mark.usefixtures("shelf")
class TestMatching:
    def test_the_right_container_gives_its_lot(self) -> None:
        found = lot("HV2311")
        assert scanning.match_lot(scan_of(found), found.product, NOW) == found

    def test_the_same_drug_in_another_strength_names_both(self) -> None:
        wanted = lot("HV2311").product
        with pytest.raises(WrongProduct, match=r"vancomycin 500 mg.*vancomycin 1 g") as refused:
            scanning.match_lot(scan_of(lot("HV2320")), wanted, NOW)
        assert refused.value.code == "wrong-strength"

    def test_a_product_nobody_knows_is_shown_by_its_number(self) -> None:
        with pytest.raises(WrongProduct, match="00399999001014"):
            scanning.match_lot(gs1.read(TEXT), lot("HV2311").product, NOW)

    def test_a_lot_never_received_is_unknown(self) -> None:
        found = lot("HV2311")
        with pytest.raises(UnknownLot, match="HV9999"):
            scanning.match_lot(scan_of(found, lot="HV9999"), found.product, NOW)

    def test_a_lot_of_another_product_is_unknown_to_this_one(self) -> None:
        found = lot("HV2311")
        with pytest.raises(UnknownLot):
            scanning.match_lot(scan_of(found, lot="HV2320"), found.product, NOW)

    def test_a_serial_number_that_ran_onto_the_lot_blames_the_scanner(self) -> None:
        found = lot("HV2311")
        with pytest.raises(SeparatorLost, match="HV231121S77"):
            scanning.match_lot(scan_of(found, lot="HV231121S77"), found.product, NOW)

    def test_a_recalled_lot_is_refused(self) -> None:
        with pytest.raises(LotRecalled, match="WN8790"):
            scanning.match_lot(scan_of(lot("WN8790")), lot("WN8790").product, NOW)

    def test_a_quarantined_lot_is_refused(self) -> None:
        with pytest.raises(LotQuarantined, match="TH9102"):
            scanning.match_lot(scan_of(lot("TH9102")), lot("TH9102").product, NOW)

    def test_an_expired_lot_says_when(self) -> None:
        with pytest.raises(LotExpired, match="26 Oct 2026"):
            scanning.match_lot(scan_of(lot("TC4402")), lot("TC4402").product, NOW)

    def test_an_expiry_that_differs_from_the_file_shows_both(self) -> None:
        found = lot("HV2311")
        other = found.expires_on + timedelta(days=31)
        with pytest.raises(ExpiryDiffers) as refused:
            scanning.match_lot(scan_of(found, expires_on=other), found.product, NOW)
        assert f"{other:%b %Y}" in refused.value.sentence
        assert f"{found.expires_on:%b %Y}" in refused.value.sentence

    def test_a_lot_may_be_used_to_the_last_second_of_its_day(self) -> None:
        # "If label gives date without time: 23:59 of that date" (COMAR 10.34.19.06 B(11), page)
        found = lot("HV2311")
        scan = scan_of(found)
        assert scanning.match_lot(scan, found.product, found.expires_at) == found
        with pytest.raises(LotExpired):
            scanning.match_lot(scan, found.product, found.expires_at + timedelta(seconds=1))

    def test_a_recall_is_told_before_an_expiry(self) -> None:
        found = lot("TC4402")
        Lot.objects.filter(pk=found.pk).update(state="recalled")
        with pytest.raises(LotRecalled):
            scanning.match_lot(scan_of(found), Product.objects.get(pk=found.product_id), NOW)

    def test_every_refusal_has_a_code_of_its_own(self) -> None:
        kinds = [
            WrongProduct,
            UnknownLot,
            LotRecalled,
            LotQuarantined,
            LotExpired,
            ExpiryDiffers,
            SeparatorLost,
        ]
        assert len({kind.code for kind in kinds}) == len(kinds)


def test_the_done_card_stands_for_no_scan() -> None:
    with pytest.raises(DoneCardScanned, match="Scan the code on the container"):
        scanning.read_product(codes.done_card())
    with pytest.raises(DoneCardScanned, match="Scan the code of a hood"):
        scanning.read_own_code(codes.done_card(), "H")
