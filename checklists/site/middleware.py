"""What surrounds every request: the policy a browser must keep, and that it keeps nothing of a patient."""

from collections.abc import Callable
from typing import Any, ClassVar, cast
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django_htmx.http import HttpResponseClientRedirect

from checklists.refusals import WrongRole
from checklists.views.shared import page
from compounding.reckoning.refusals import Refusal

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

#: What a device asks for by itself: no use of it, and the same whoever is there.
OF_THE_DEVICE = {"/manifest.webmanifest", "/sw.js", "/away/", "/install/", "/authority.crt"}

Answer = Callable[[HttpRequest], HttpResponseBase]


class ContentSecurityPolicyMiddleware:
    """Send the one policy with every response, refusals and static files included."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer with the policy beside whatever was answered."""
        response = self.get_response(request)
        response["Content-Security-Policy"] = POLICY
        return response


class NoStoreMiddleware:
    """Let no browser keep a page, unless the view said how long it may be kept."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer as the view did, not to be stored unless it said otherwise."""
        response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "no-store")
        return response


class RefusalMiddleware:
    """Turn a refusal that no view answered into a screen (409) that says why and where to go on."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer as the view did."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponseBase | None:
        """Answer a refusal; leave every other exception, a fault of the program, alone."""
        if not isinstance(exception, Refusal):
            return None
        reasons = [blocker.sentence for blocker in getattr(exception, "reasons", ())]
        facts = {"sentence": exception.sentence, "reasons": reasons, "back_url": "/"}
        response = page(request, "refused.html", **facts)
        response.status_code = 403 if isinstance(exception, WrongRole) else 409
        return response


class IdleLockMiddleware:
    """Lock a session that nobody used for a while, and keep the place. A poll is no use."""

    #: Outside the hood, and with hands in it, in seconds. Site habit, no source.
    LIMITS: ClassVar = {False: 5 * 60, True: 60 * 60}
    OPEN: ClassVar = {"/lock/", "/sign-out/", "/sign-in/", "/hand-over/", "/about/", *OF_THE_DEVICE}

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, or ask for the PIN first."""
        if not request.user.is_authenticated or request.path in self.OPEN:
            return self.get_response(request)
        now, session = timezone.now().timestamp(), request.session
        limit = self.LIMITS[bool(session.get("in_hood"))]
        is_idle = now - session.get("seen_at", now) > limit
        if session.get("locked") or is_idle:
            session["locked"] = True
            return self._ask(request)
        if not _is_poll(request):
            session["seen_at"] = now
        return self.get_response(request)

    def _ask(self, request: HttpRequest) -> HttpResponseBase:
        """Send to the lock; afterwards the person is back where they were."""
        htmx = cast("Any", request).htmx
        place = _shown(request) if htmx else request.get_full_path() if request.method == "GET" else "/"
        target = f"{reverse('lock')}?{urlencode({'next': place or '/'})}"
        if htmx:
            return HttpResponseClientRedirect(target)
        return redirect(target)


def _shown(request: HttpRequest) -> str:
    """Return the page that a piece was asked for from; none where its address is no address."""
    try:
        return cast("Any", request).htmx.current_url_abs_path or "/"
    except ValueError:
        return "/"


class PinDueMiddleware:
    """Let nobody work with a PIN that is due: it is changed first, at signing in, never amid the work."""

    OPEN: ClassVar = {
        "/you/",
        "/you/everywhere/",
        "/lock/",
        "/sign-out/",
        "/sign-in/",
        "/hand-over/",
        "/about/",
        *OF_THE_DEVICE,
    }

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, or have the PIN changed first."""
        if request.path in self.OPEN or not request.session.get("pin_due"):
            return self.get_response(request)
        place = request.get_full_path() if request.method == "GET" else "/"
        return redirect(f"{reverse('you')}?{urlencode({'next': place})}")


def _is_poll(request: HttpRequest) -> bool:
    return "If-None-Match" in request.headers


def idle(request: HttpRequest) -> dict[str, int]:
    """Tell the pages after how many seconds they lock by themselves; locked or signed out, never."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated or request.session.get("locked"):
        return {}
    return {"idle_seconds": IdleLockMiddleware.LIMITS[bool(request.session.get("in_hood"))]}
