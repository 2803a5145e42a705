"""What a product's GS1 code says, and every known trap closed.

Sources: standards.md section 8 (fields: page; FNC1 and prefixes: memory); traps: stack.md section 4 (tried).
Well-formed codes are written here by hand from the rules.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.formulary import gs1
from compounding.formulary.gs1 import ProductScan
from compounding.formulary.refusals import (
    ExpiryUnreadable,
    GtinMistyped,
    IncompleteScan,
    NotAProductScan,
    ProductNumberOnly,
    ScanUnreadable,
    SeparatorLost,
)

GTIN = "00399999001014"  # the invented test value of standards.md section 8
PLAIN = f"01{GTIN}1727113010AB12"


def parts(text: str) -> tuple[str, str, date, str]:
    scan = gs1.read(text)
    return scan.gtin, scan.lot, scan.expires_on, scan.serial


@pytest.mark.parametrize(
    "text",
    [
        PLAIN,
        f"]d2{PLAIN}",
        f"]C1{PLAIN}",
        f"]Q3{PLAIN}",
        f"\x1d{PLAIN}",
        f"]d2\x1d{PLAIN}",
        f"01{GTIN}10AB12\x1d17271130",
        f"10AB12\x1d17271130\x1d01{GTIN}",
        f"(01){GTIN}(17)271130(10)AB12",
        f"(01) {GTIN} (17) 271130 (10) AB12",
        f"(10)AB12(01){GTIN}(17)271130",
    ],
)
def test_one_product_is_read_from_every_way_of_writing_it(text: str) -> None:
    assert parts(text) == (GTIN, "AB12", date(2027, 11, 30), "")


def test_the_serial_number_is_kept_where_there_is_one() -> None:
    assert parts(f"{PLAIN}\x1d21S77")[3] == "S77"


def test_other_facts_in_the_code_do_no_harm() -> None:
    assert parts(f"01{GTIN}11240101172711303005\x1d10AB12")[:3] == (GTIN, "AB12", date(2027, 11, 30))


@pytest.mark.parametrize(
    ("written", "meant"),
    [("210300", date(2021, 3, 31)), ("280200", date(2028, 2, 29)), ("270200", date(2027, 2, 28))],
)
def test_day_00_is_the_last_day_of_the_month(written: str, meant: date) -> None:
    # 210331 and 210300 mean the same day (page: a GS1 gem's documentation quoting the standard)
    assert gs1.read(f"01{GTIN}17{written}10AB12").expires_on == meant


def test_what_was_scanned_is_kept_as_it_came() -> None:
    assert gs1.read(f"]d2{PLAIN}") == ProductScan(GTIN, "AB12", date(2027, 11, 30), "", f"]d2{PLAIN}")


def test_a_lot_that_swallowed_the_expiry_is_found() -> None:
    with pytest.raises(SeparatorLost, match="ABC12317271130"):
        gs1.read(f"01{GTIN}10ABC12317271130")


def test_a_serial_number_that_swallowed_the_lot_is_found() -> None:
    with pytest.raises(SeparatorLost, match="S7710AB12"):
        gs1.read(f"01{GTIN}1727113021S7710AB12")


def test_a_serial_number_that_swallowed_all_else_is_found() -> None:
    with pytest.raises(SeparatorLost):
        gs1.read(f"01{GTIN}21S771727113010AB12")


def test_a_wrong_check_digit_is_refused() -> None:
    with pytest.raises(GtinMistyped, match="00399999001015"):
        gs1.read("01003999990010151727113010AB12")


@pytest.mark.parametrize(
    ("text", "missing"),
    [(f"01{GTIN}10AB12", "expiry"), (f"01{GTIN}17271130", "lot"), ("1727113010AB12", "product number")],
)
def test_a_code_without_one_of_the_three_says_which(text: str, missing: str) -> None:
    with pytest.raises(IncompleteScan, match=missing):
        gs1.read(text)


@pytest.mark.parametrize("expiry", ["271330", "270231", "271131", "270031", "270132"])
def test_an_expiry_that_is_no_day_is_refused(expiry: str) -> None:
    with pytest.raises(ExpiryUnreadable, match=expiry):
        gs1.read(f"01{GTIN}17{expiry}10AB12")


@pytest.mark.parametrize("expiry", ["2711", "27 11 30", "2711300", "271a30", ""])
def test_a_typed_expiry_has_six_digits(expiry: str) -> None:
    with pytest.raises(ExpiryUnreadable):
        gs1.read(f"(01){GTIN}(17){expiry}(10)AB12")


@pytest.mark.parametrize("text", ["8904000210037", "00399999001014", "7300011000017"])
def test_a_bare_product_number_asks_for_the_square_code(text: str) -> None:
    # 8904000210037 is a published GTIN-13 (page); biip alone reads some such texts as other fields
    with pytest.raises(ProductNumberOnly, match="square code"):
        gs1.read(text)


@pytest.mark.parametrize("text", ["12345678", "hello", "]E08904000210037", "https://example.invalid/01/0"])
def test_another_text_is_no_product(text: str) -> None:
    with pytest.raises(NotAProductScan):
        gs1.read(text)


@pytest.mark.parametrize(
    "text",
    [
        f"01{GTIN}1727",
        f"01{GTIN}1727113010" + "A" * 25,
        f"01{GTIN}1727113010AB~12",
        f"{PLAIN}\x1d10CD34",
        f"(01){GTIN}(17)271130(10)AB12)",
        f"(01){GTIN} and more",
        f"(01){GTIN}(17)271130(10)",
    ],
)
def test_a_broken_code_is_refused(text: str) -> None:
    with pytest.raises(ScanUnreadable):
        gs1.read(text)


LOTS = st.text("ABCDEFGHJKMNPQRSTVWXYZ-_./", min_size=1, max_size=20)


@given(LOTS, LOTS, st.dates(date(2020, 1, 1), date(2049, 12, 31)))
def test_what_is_written_is_read_back(lot: str, serial: str, expires_on: date) -> None:
    assert parts(gs1.written(GTIN, lot, expires_on, serial)) == (GTIN, lot, expires_on, serial)


@given(st.text(max_size=60))
def test_no_text_at_all_is_a_fault_of_the_program(text: str) -> None:
    try:
        gs1.read(text)
    except (NotAProductScan, ProductNumberOnly, IncompleteScan, SeparatorLost, ScanUnreadable):
        return
    except (GtinMistyped, ExpiryUnreadable):
        return
    raise AssertionError("a random text was taken for a product")
