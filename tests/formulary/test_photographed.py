"""Codes written by others, photographed askew and in noise, read as a scanner would type them.

The GS1 square is written by zint (within zxing-cpp; its reader is other code), the QR by segno. Turned by
24 angles, noise, low contrast and JPEG as in stack.md section 4 (tried: at 5 pixels a module all of 24 are
read when sharp). The element string's form: standards.md section 8.
"""

from __future__ import annotations

from io import BytesIO

import pytest
import segno
import zxingcpp
from PIL import Image, ImageFilter

from compounding.formulary import codes, photographed, scanning
from compounding.formulary.codes import OwnCode
from compounding.formulary.gs1 import ProductScan
from compounding.formulary.refusals import NoCodeInPicture, NotAPicture, SeveralCodesInPicture

GTIN = "02410100000219"
BRACKETED = f"(01){GTIN}(17)271130(10)HV2311(21)S00417"
ANGLES = range(0, 360, 15)


def square_code() -> Image.Image:
    made = zxingcpp.create_barcode(BRACKETED, zxingcpp.BarcodeFormat.DataMatrix, gs1=True, force_square=True)
    whole = made.to_image(scale=5)
    return Image.frombuffer("L", (whole.shape[1], whole.shape[0]), bytes(whole), "raw", "L", 0, 1)


def qr_code(text: str) -> Image.Image:
    stream = BytesIO()
    segno.make_qr(text).save(stream, kind="png", scale=5, border=4)
    return Image.open(stream).convert("L")


def photographed_as(code: Image.Image, angle: int, noise: int = 40, blur: float = 0.8) -> bytes:
    """Lay the code askew on a grey table, out of focus, noisy, pale, and keep it as a JPEG."""
    table = Image.new("L", (1280, 720), 170)
    tilted = code.resize((code.width, code.height)).rotate(angle, expand=True, fillcolor=170)
    table.paste(tilted, (500 - angle % 90, 200 + angle % 45))
    grain = Image.effect_noise(table.size, noise)
    noisy = Image.blend(table, grain, 0.18).filter(ImageFilter.GaussianBlur(blur))
    pale = noisy.point(lambda grey: 70 + grey * 130 // 255)
    stream = BytesIO()
    pale.save(stream, "JPEG", quality=70)
    return stream.getvalue()


def test_a_products_square_is_read_however_it_lies() -> None:
    code, wrong, unread = square_code(), [], []
    for angle in ANGLES:
        try:
            text = photographed.read_picture(photographed_as(code, angle))
        except NoCodeInPicture:
            unread.append(angle)
            continue
        scan = scanning.read(text)
        assert isinstance(scan, ProductScan)
        if (scan.gtin, scan.lot, scan.serial, str(scan.expires_on)) != (
            GTIN,
            "HV2311",
            "S00417",
            "2027-11-30",
        ):
            wrong.append((angle, text))
    assert wrong == []
    assert len(unread) <= 2, unread


@pytest.mark.parametrize("angle", [0, 17, 45, 90, 200])
def test_our_own_code_and_a_bracketed_code_in_a_qr(angle: int) -> None:
    own = codes.make("L", 417)
    read = scanning.read(photographed.read_picture(photographed_as(qr_code(own), angle)))
    assert read == OwnCode("L", own)
    product = scanning.read(photographed.read_picture(photographed_as(qr_code(BRACKETED), angle)))
    assert isinstance(product, ProductScan)
    assert (product.gtin, product.lot, product.serial) == (GTIN, "HV2311", "S00417")


def test_a_square_code_goes_before_the_bars_beside_it() -> None:
    bars = zxingcpp.create_barcode("2410100000219"[:12] + "2", zxingcpp.BarcodeFormat.Code128)
    whole = bars.to_image(scale=3)
    picture = Image.new("L", (1200, 500), 255)
    picture.paste(square_code(), (100, 100))
    strip = Image.frombuffer("L", (whole.shape[1], whole.shape[0]), bytes(whole), "raw", "L", 0, 1)
    picture.paste(strip, (500, 150))
    assert photographed.read_picture(_png(picture)).startswith(f"]d201{GTIN}")


def test_two_squares_are_not_chosen_between() -> None:
    picture = Image.new("L", (1200, 600), 255)
    picture.paste(square_code(), (50, 50))
    picture.paste(qr_code(codes.make("L", 1)), (700, 200))
    with pytest.raises(SeveralCodesInPicture, match="2 codes"):
        photographed.read_picture(_png(picture))


def test_a_small_code_in_a_large_photograph_is_found_at_full_size() -> None:
    picture = Image.new("L", (4000, 3000), 255)
    picture.paste(square_code(), (1900, 1400))
    assert GTIN in photographed.read_picture(_png(picture))


def test_a_picture_without_a_code_says_so() -> None:
    with pytest.raises(NoCodeInPicture):
        photographed.read_picture(_png(Image.new("L", (400, 400), 200)))


@pytest.mark.parametrize(
    "data", [b"", b"no picture", b"\x89PNG\r\n\x1a\n" + b"\0" * 50, b"%PDF-1.4", b"GIF89a" + b"\0" * 40]
)
def test_what_is_no_photograph_is_refused(data: bytes) -> None:
    with pytest.raises(NotAPicture):
        photographed.read_picture(data)


def test_a_picture_cut_off_or_far_too_large_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = photographed_as(square_code(), 0)
    with pytest.raises(NotAPicture):
        photographed.read_picture(whole[: len(whole) // 2])
    monkeypatch.setattr(photographed, "MOST_PIXELS", 1000)
    with pytest.raises(NotAPicture):
        photographed.read_picture(whole)
    monkeypatch.setattr(photographed, "LARGEST", 1000)
    with pytest.raises(NotAPicture):
        photographed.read_picture(whole)


def _png(picture: Image.Image) -> bytes:
    stream = BytesIO()
    picture.save(stream, "PNG")
    return stream.getvalue()
