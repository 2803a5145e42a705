"""The program as a device installs it: its manifest, and what the device keeps so that a page opens alone."""

from __future__ import annotations

import hashlib
import json
import re
import ssl
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _

#: What a press on the installed icon held long offers each role; the first is where its work is.
SHORTCUTS = {
    "technician": (
        ("to_make", gettext_lazy("To make")),
        ("hoods", gettext_lazy("Hoods")),
        ("calculator", gettext_lazy("Calculator")),
    ),
    "pharmacist": (
        ("waiting", gettext_lazy("What waits")),
        ("list_orders", gettext_lazy("Orders")),
        ("calculator", gettext_lazy("Calculator")),
    ),
    "supervisor": (
        ("now", gettext_lazy("Now")),
        ("finished", gettext_lazy("Finished")),
        ("list_people", gettext_lazy("People")),
    ),
}
#: Whoever installs it before signing in is offered the first page of each role.
OF_NOBODY = tuple(of_role[0] for of_role in SHORTCUTS.values())

ICONS = (
    ("icon-192.png", "192x192", "any"),
    ("icon-512.png", "512x512", "any"),
    ("maskable-192.png", "192x192", "maskable"),
    ("maskable-512.png", "512x512", "maskable"),
)
KEPT = re.compile(r'(?:href|src)="(/[^"]+\.(?:css|js|svg|png))"')
FONT = "fonts/atkinson-hyperlegible-next.woff2"


@dataclass(frozen=True)
class Authority:
    """The local certificate authority of this site: its certificate, and the fingerprint to compare."""

    certificate: bytes
    fingerprint: str


def authority() -> Authority | None:
    """Return the local authority, if the command `lan_certificate` made one."""
    path = Path(settings.LAN) / "authority.pem"
    if not path.exists():
        return None
    certificate = ssl.PEM_cert_to_DER_cert(path.read_text(encoding="ascii"))
    digest = hashlib.sha256(certificate).hexdigest().upper()
    return Authority(certificate, ":".join(re.findall("..", digest)))


def manifest(role: str) -> dict[str, Any]:
    """Return the web app manifest for somebody of this role; empty for nobody signed in."""
    return {
        "id": "/",
        "name": "Counterdraw",
        "short_name": "Counterdraw",
        "description": _("From an order to a released preparation: required, drawn and seen must agree."),
        "lang": get_language(),
        "start_url": reverse("home"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#f7f3ea",
        "theme_color": "#f7f3ea",
        "icons": [
            {"src": static(f"icons/{name}"), "sizes": sizes, "type": "image/png", "purpose": purpose}
            for name, sizes, purpose in ICONS
        ],
        "shortcuts": [
            {"name": str(words), "url": reverse(name)} for name, words in SHORTCUTS.get(role, OF_NOBODY)
        ],
    }


def worker() -> dict[str, Any]:
    """Return what the service worker is written from: what is kept, and the version that names it."""
    page = render_to_string("away.html", {"skeleton": "base.html"})
    kept = [reverse("away"), *sorted({*KEPT.findall(page), static(FONT)})]
    text = render_to_string("worker.js", {"version": "", "kept": json.dumps(kept), "away": kept[0]})
    version = hashlib.sha256(f"{page}{text}".encode()).hexdigest()[:12]
    return {"version": version, "kept": json.dumps(kept), "away": kept[0]}
