"""The square code of a text, as it is printed and scanned."""

from __future__ import annotations

from io import BytesIO

import qrcode
import qrcode.image.svg
from django.utils.safestring import SafeString, mark_safe


def square(text: str) -> SafeString:
    """Return the QR of a text as SVG, its size given by the style sheet."""
    image = qrcode.make(text, image_factory=qrcode.image.svg.SvgPathImage, border=2)
    stream = BytesIO()
    image.save(stream)
    svg = stream.getvalue().decode()
    # Our own drawing of our own code: nothing a person typed is in it.
    return mark_safe(svg[svg.index("<svg") :])
