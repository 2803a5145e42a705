"""Photographs as files: looked at, made anew without anything but the picture, kept under a random name.

What a device sends is never trusted and never kept: its content tells its type, its size is judged before it
is unpacked, and only the pixels go into the JPEG that is written.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import secrets
from io import BytesIO
from pathlib import Path

from django.conf import settings
from PIL import Image, ImageOps, UnidentifiedImageError

from checklists.refusals import (
    NoPicture,
    NoSuchPhotograph,
    NotAPicture,
    PictureTooHeavy,
    PictureTooLarge,
    PictureTooSmall,
)

FORMATS = ("JPEG", "PNG", "WEBP")
HEAVIEST = 12 * 1024 * 1024
MOST_PIXELS = 40_000_000
LONGEST_SIDE = 2000
SHORTEST_SIDE = 240
QUALITY = 85
NAME = re.compile(r"[0-9a-f]{32}\.jpg")


def developed(sent: bytes) -> bytes:
    """Return a picture made anew: upright, at most 2,000 pixels long, JPEG, without metadata.

    Refuses what is empty, too heavy, no picture, too large to be unpacked, or too small to be read.
    """
    if not sent:
        raise NoPicture()
    if len(sent) > HEAVIEST:
        raise PictureTooHeavy(most=f"{HEAVIEST // 1024 // 1024} MB")
    try:
        with Image.open(BytesIO(sent), formats=FORMATS) as picture:
            return _made_anew(picture)
    except (UnidentifiedImageError, Image.DecompressionBombError) as bad:
        raise NotAPicture() from bad
    except (OSError, SyntaxError, ValueError, EOFError, IndexError, ZeroDivisionError) as bad:
        raise NotAPicture() from bad


def _made_anew(picture: Image.Image) -> bytes:
    width, height = picture.size
    if width * height > MOST_PIXELS:
        raise PictureTooLarge(pixels=f"{width} × {height}", most=f"{MOST_PIXELS // 1_000_000} million")
    if min(width, height) < SHORTEST_SIDE:
        raise PictureTooSmall(pixels=f"{width} × {height}", least=str(SHORTEST_SIDE))
    picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
    upright = ImageOps.exif_transpose(picture).convert("RGB")
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    pixels = Image.frombytes("RGB", upright.size, upright.tobytes())
    out = BytesIO()
    pixels.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def keep(picture: bytes) -> tuple[str, str]:
    """Write a picture down, safely on the disk; return its name and the SHA-256 of what was written."""
    name = f"{secrets.token_hex(16)}.jpg"
    settings.MEDIA_ROOT.mkdir(mode=0o700, parents=True, exist_ok=True)
    with open(os.open(_path(name), os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(picture)
        file.flush()
        os.fsync(file.fileno())
    return name, digest(picture)


def throw_away(name: str) -> None:
    """Take away a picture whose act came to nothing."""
    with contextlib.suppress(OSError):
        _path(name).unlink()


def read_back(name: str) -> bytes:
    """Return a kept picture. Refuses NoSuchPhotograph when its file is gone."""
    try:
        return _path(name).read_bytes()
    except OSError as gone:
        raise NoSuchPhotograph() from gone


def is_as_kept(name: str, sha256: str) -> bool:
    """Say whether the file is there, byte for byte as it was written."""
    try:
        return digest(read_back(name)) == sha256
    except NoSuchPhotograph:
        return False


def digest(picture: bytes) -> str:
    """Return the SHA-256 of a picture."""
    return hashlib.sha256(picture).hexdigest()


def _path(name: str) -> Path:
    """Return where a picture lies. A name that `keep` did not make leads nowhere."""
    if not NAME.fullmatch(name):
        raise NoSuchPhotograph()
    root: Path = settings.MEDIA_ROOT
    return root / name
