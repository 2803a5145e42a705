"""A photograph sent to be read: its text, or a sentence; never a fault, and nothing is kept."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from cast import Cast
from tests.checklists.walks import everything, sign_in
from tests.formulary.test_photographed import photographed_as, qr_code


def sent(data: bytes) -> dict[str, SimpleUploadedFile]:
    return {"picture": SimpleUploadedFile("code.jpg", data)}


def test_the_text_of_a_photograph_is_answered_and_nothing_kept(everybody: Cast) -> None:
    browser = sign_in(everybody["technician"])
    before = everything()
    answer = browser.post(reverse("read_picture"), sent(photographed_as(qr_code("HCRHE6CTP"), 20)))
    assert (answer.status_code, answer.json()) == (200, {"text": "HCRHE6CTP"})
    assert everything() == before


@pytest.mark.parametrize("data", [b"\0" * 20, b"GIF89a", b"<svg/>"])
def test_anything_else_is_told(everybody: Cast, data: bytes) -> None:
    browser = sign_in(everybody["pharmacist"])
    answer = browser.post(reverse("read_picture"), sent(data))
    assert (answer.status_code, list(answer.json())) == (409, ["sentence"])
    assert browser.post(reverse("read_picture"), {"picture": "a text"}).status_code == 409
