"""The code in a photograph: what a scanner would have typed, for devices that have none. Keeps no picture."""

from __future__ import annotations

from io import BytesIO

import zxingcpp
from PIL import Image, ImageOps, UnidentifiedImageError

from compounding.formulary.refusals import NoCodeInPicture, NotAPicture, SeveralCodesInPicture

LARGEST = 15_000_000
MOST_PIXELS = 60_000_000
#: Larger pictures are looked at small first: a code that fills the view is found there, and quickly.
FIRST_SIDE = 1600
SQUARES = (zxingcpp.BarcodeFormat.DataMatrix, zxingcpp.BarcodeFormat.QRCode)
FORMATS = zxingcpp.BarcodeFormats([*SQUARES, zxingcpp.BarcodeFormat.Code128, zxingcpp.BarcodeFormat.EAN13])
KINDS = ("JPEG", "PNG", "WEBP")


def read_picture(data: bytes) -> str:
    """Return the text of the one code in a picture, as a scanner would type it: GS1 separators included.

    Refuses NotAPicture, NoCodeInPicture, SeveralCodesInPicture (square codes go before lines of bars).
    """
    picture = _opened(data)
    small = picture.copy()
    small.thumbnail((FIRST_SIDE, FIRST_SIDE))
    found = _codes_in(small) or (_codes_in(picture) if picture.size != small.size else {})
    if not found:
        raise NoCodeInPicture()
    squares = {text for text, is_square in found.items() if is_square} or set(found)
    if len(squares) > 1:
        raise SeveralCodesInPicture(count=str(len(squares)))
    return squares.pop()


def _opened(data: bytes) -> Image.Image:
    if len(data) > LARGEST:
        raise NotAPicture()
    try:
        picture = Image.open(BytesIO(data), formats=KINDS)
        if picture.width * picture.height > MOST_PIXELS:
            raise NotAPicture()
        return ImageOps.grayscale(picture)
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as fault:
        raise NotAPicture() from fault


def _codes_in(picture: Image.Image) -> dict[str, bool]:
    """Return every text that stands in the picture, and whether it stands in a square code."""
    return {_typed(code): code.format in SQUARES for code in zxingcpp.read_barcodes(picture, formats=FORMATS)}


def _typed(code: zxingcpp.Barcode) -> str:
    """Return a code's text; of a GS1 code with its symbology before it, as scanners are set to send it."""
    text = code.bytes.decode("utf-8", "replace")
    return f"{code.symbology_identifier}{text}" if code.content_type == zxingcpp.ContentType.GS1 else text
