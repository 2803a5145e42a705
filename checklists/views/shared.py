"""What every role's views share: who acts, which skeleton, and how a refusal becomes a screen."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, cast

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme

from checklists.refusals import WrongRole
from compounding.reckoning.refusals import Refusal

if TYPE_CHECKING:
    from checklists.models import Person

TECHNICIAN, PHARMACIST, SUPERVISOR = "technician", "pharmacist", "supervisor"
EVERYBODY = (TECHNICIAN, PHARMACIST, SUPERVISOR)

#: Room is left in the record for the name of the act and the number of its entry.
LONGEST_KEY = 44
LONGEST_ADDRESS = 45
DEVICE = "counterdraw_device"
LONGEST_DEVICE = 32
KEPT_FOR = 2 * 365 * 24 * 60 * 60

View = Callable[..., HttpResponse]

HOMES = {TECHNICIAN: "to_make", PHARMACIST: "waiting", SUPERVISOR: "now"}


def for_roles(*roles: str) -> Callable[[View], View]:
    """Let only those roles in: anybody else is sent to sign in, or told whose page it is."""

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **given: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path(), reverse("sign_in"))
            if person(request).role not in roles:
                raise WrongRole(role=person(request).role, wanted=" or ".join(roles))
            return view(request, *args, **given)

        guarded.roles = roles  # type: ignore[attr-defined]
        return guarded

    return decorate


def for_anybody(view: View) -> View:
    """Mark a page that needs no sign-in."""
    view.roles = ()  # type: ignore[attr-defined]
    return view


def refused_as(screen: View) -> Callable[[View], View]:
    """Answer a refusal with the screen it came from, status 409, and what was typed still on it.

    Where that screen is not to be had either, the first refusal stands, with every reason it has.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def answered(request: HttpRequest, *args: Any, **given: Any) -> HttpResponse:
            try:
                return view(request, *args, **given)
            except Refusal as refusal:
                return _shown(screen, refusal, request, *args, **given)

        return answered

    return decorate


def _shown(screen: View, refusal: Refusal, request: HttpRequest, *args: Any, **given: Any) -> HttpResponse:
    try:
        response = screen(request, *args, refusal=refusal, **given)
    except Refusal:
        raise refusal from None
    response.status_code = 409
    return response


def person(request: HttpRequest) -> Person:
    """Return who acts."""
    return cast("Person", request.user)


def address(request: HttpRequest) -> str:
    """Return where the request comes from: behind our own proxy the last address that it added."""
    passed_on = request.headers.get("X-Forwarded-For", "") if settings.IS_BEHIND_PROXY else ""
    found = passed_on.rpartition(",")[2].strip() or request.META.get("REMOTE_ADDR", "")
    return str(found)[:LONGEST_ADDRESS]


def device(request: HttpRequest) -> str:
    """Return which device this is: a number drawn at its first sign-in, that says nothing else."""
    return request.COOKIES.get(DEVICE, "")[:LONGEST_DEVICE]


def name_device(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """Give the device its number if it has none."""
    if not device(request):
        response.set_cookie(
            DEVICE,
            secrets.token_hex(8),
            max_age=KEPT_FOR,
            httponly=True,
            samesite="Lax",
            secure=settings.IS_HTTPS,
        )
    return response


def key(request: HttpRequest) -> str:
    """Return the key of the act: the form's own, so that sending it twice does it once."""
    sent = request.POST.get("key", "").strip()[:LONGEST_KEY]
    return sent if sent and sent.isprintable() else secrets.token_hex(16)


def page(request: HttpRequest, template: str, **context: Any) -> HttpResponse:
    """Render a whole page, or only its piece when it is swapped in."""
    htmx = cast("Any", request).htmx
    skeleton = "fragment.html" if htmx and not htmx.boosted else "base.html"
    return render(request, template, {"skeleton": skeleton, **context})


def home_of(request: HttpRequest) -> str:
    """Return the first page of the person's role."""
    return reverse(HOMES[person(request).role])


def safe_next(request: HttpRequest) -> str:
    """Return where to go on, if it is a place of ours; else the person's first page."""
    target = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(
        target, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        return target
    return home_of(request) if request.user.is_authenticated else reverse("sign_in")
