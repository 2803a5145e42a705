"""How much one device may ask for: so many requests a minute, and none that is larger than a photograph.

Counted in this process's memory: a flood is slowed, an honest shift never meets it. PINs are counted in
the database, and longer (`run/pins`).
"""

from __future__ import annotations

import time
from collections.abc import Callable

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.template.loader import render_to_string

from checklists.views.shared import address

Answer = Callable[[HttpRequest], HttpResponseBase]
MINUTE = 60


class BoundsMiddleware:
    """Answer 429 to a device that asks too often and 413 to what is too large, each in words."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, or say what is too much."""
        if _length(request) > settings.LARGEST_REQUEST:
            largest = f"{settings.LARGEST_REQUEST // 1024 // 1024} MB"
            return _refused(413, "too_large", largest=largest)
        name, most = _asker(request)
        if most and _count(name) > most:
            answer = _refused(429, "too_often")
            answer["Retry-After"] = str(MINUTE - int(time.time()) % MINUTE)
            return answer
        return self.get_response(request)


def _length(request: HttpRequest) -> int:
    said = str(request.META.get("CONTENT_LENGTH") or "")
    return int(said) if said.isascii() and said.isdecimal() and len(said) < 16 else 0


def _asker(request: HttpRequest) -> tuple[str, int]:
    """Return who is counted: the session of somebody signed in, else the address; and how many it may."""
    key = request.COOKIES.get(settings.SESSION_COOKIE_NAME, "")
    if key and request.user.is_authenticated:
        return f"asked by {key[:64]}", settings.REQUESTS_A_MINUTE
    return f"asked from {address(request)}", settings.REQUESTS_A_MINUTE_SIGNED_OUT


def _count(name: str) -> int:
    """Count one request in this minute; return how many there were."""
    key = f"{name.replace(' ', '-')}-{int(time.time()) // MINUTE}"
    if cache.add(key, 1, MINUTE):
        return 1
    try:
        return cache.incr(key)
    except ValueError:  # it ended between the two
        return 1


def _refused(status: int, what: str, **facts: str) -> HttpResponse:
    return HttpResponse(render_to_string("too_much.html", {"what": what, **facts}), status=status)
