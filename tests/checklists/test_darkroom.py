"""A picture is told by its content, judged before it is unpacked, and made anew without anything but pixels.

Ways to hide something in a picture file: common practice of those who guard against it, no source.
"""

from __future__ import annotations

import struct
import zlib
from io import BytesIO

import pytest
from PIL import Image, PngImagePlugin

from checklists import darkroom
from checklists.refusals import (
    NoPicture,
    NoSuchPhotograph,
    NotAPicture,
    PictureTooHeavy,
    PictureTooLarge,
    PictureTooSmall,
)

SECRET = b"Calloway, 22 mL"


def picture(width: int = 800, height: int = 600, kind: str = "JPEG", **how: object) -> bytes:
    """Return a picture, its left half white, so that it can be told which way up it is."""
    made = Image.new("RGB", (width, height), "black")
    made.paste("white", (0, 0, width // 2, height))
    out = BytesIO()
    made.save(out, kind, **how)
    return out.getvalue()


def opened(made: bytes) -> Image.Image:
    found = Image.open(BytesIO(made))
    found.load()
    return found


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_kinds_that_devices_send_become_a_jpeg(kind: str) -> None:
    made = opened(darkroom.developed(picture(kind=kind)))
    assert (made.format, made.size, made.mode) == ("JPEG", (800, 600), "RGB")


@pytest.mark.parametrize(("size", "becomes"), [((4000, 3000), (2000, 1500)), ((900, 3000), (600, 2000))])
def test_it_is_at_most_2000_pixels_long(size: tuple[int, int], becomes: tuple[int, int]) -> None:
    assert opened(darkroom.developed(picture(*size))).size == becomes


def test_nothing_but_pixels_is_kept() -> None:
    facts = Image.Exif()
    facts[0x010E], facts[0x8825] = SECRET.decode(), {1: "N"}
    jpeg = picture(exif=facts, comment=SECRET, icc_profile=SECRET)
    chunks = PngImagePlugin.PngInfo()
    chunks.add_text("Comment", SECRET.decode())
    png = picture(kind="PNG", pnginfo=chunks)
    for sent in (jpeg, png + SECRET):
        assert SECRET in sent
        made = darkroom.developed(sent)
        assert SECRET not in made
        assert not opened(made).getexif()
        assert set(opened(made).info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_a_picture_lying_on_its_side_is_put_upright() -> None:
    facts = Image.Exif()
    facts[0x0112] = 6
    made = opened(darkroom.developed(picture(exif=facts)))
    assert made.size == (600, 800)
    top, bottom = made.getpixel((300, 50)), made.getpixel((300, 750))
    assert top[0] > 200 > 50 > bottom[0]


@pytest.mark.parametrize(
    "sent",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"%PDF-1.7 " + bytes(400),
        b"GIF89a" + bytes(400),
        b"MZ" + bytes(400),
        picture()[:300],
        picture(kind="PNG")[:200],
        b"\xff\xd8\xff" + bytes(2000),
        bytes(5000),
    ],
    ids=["svg", "pdf", "gif", "program", "cut jpeg", "cut png", "hollow jpeg", "zeros"],
)
def test_what_is_no_picture_is_refused_in_words(sent: bytes) -> None:
    with pytest.raises(NotAPicture, match="Send a JPEG, PNG or WebP file"):
        darkroom.developed(sent)


def test_every_cut_and_every_flipped_byte_is_a_picture_or_refused(times) -> None:
    whole = picture(300, 240)
    for at in range(0, len(whole), max(1, len(whole) // times(60, 2000))):
        for sent in (whole[:at], whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :]):
            try:
                assert opened(darkroom.developed(sent)).format == "JPEG"
            except (NotAPicture, NoPicture, PictureTooLarge, PictureTooSmall):
                continue


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    rows = zlib.compress(bytes(1000))
    bomb = b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", head) + _chunk(b"IDAT", rows) + _chunk(b"IEND", b"")
    with pytest.raises((PictureTooLarge, NotAPicture)):
        darkroom.developed(bomb)
    large = struct.pack(">IIBBBBB", 8_000, 6_000, 8, 2, 0, 0, 0)
    with pytest.raises(PictureTooLarge, match="8000 × 6000 pixels, more than 40 million"):
        darkroom.developed(b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", large) + _chunk(b"IDAT", rows))


def _chunk(name: bytes, told: bytes) -> bytes:
    return struct.pack(">I", len(told)) + name + told + struct.pack(">I", zlib.crc32(name + told))


def test_none_a_heavy_one_and_a_tiny_one_are_refused() -> None:
    with pytest.raises(NoPicture):
        darkroom.developed(b"")
    with pytest.raises(PictureTooHeavy, match="12 MB"):
        darkroom.developed(picture() + bytes(darkroom.HEAVIEST))
    with pytest.raises(PictureTooSmall, match="239 × 400"):
        darkroom.developed(picture(239, 400))


def test_a_kept_picture_is_its_owners_alone_and_its_name_leads_nowhere_else() -> None:
    name, sha256 = darkroom.keep(picture())
    path = darkroom._path(name)
    assert path.stat().st_mode & 0o077 == 0
    assert darkroom.is_as_kept(name, sha256)
    path.write_bytes(picture(801))
    assert not darkroom.is_as_kept(name, sha256)
    darkroom.throw_away(name)
    assert not darkroom.is_as_kept(name, sha256)
    for other in ("../secret_key", "", "x.jpg", f"/{name}", f"{name}/../{name}"):
        with pytest.raises(NoSuchPhotograph):
            darkroom.read_back(other)
