"""Signing in with badge and PIN, handing over, locking and signing out; and the page about the program."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from checklists.views.shared import EVERYBODY, for_anybody, for_roles, home_of, page, person, safe_next
from compounding.formulary import scanning
from compounding.reckoning.refusals import Refusal

if TYPE_CHECKING:
    from checklists.models import Person

LONGEST_PIN = 64


@for_anybody
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Ask for badge and PIN."""
    return _identify(request, "people/sign_in.html")


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
def hand_over(request: HttpRequest) -> HttpResponse:
    """Let the next person identify; the place is kept."""
    return _identify(request, "people/hand_over.html")


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
def lock(request: HttpRequest) -> HttpResponse:
    """Lock the device; the PIN of the person who is signed in opens it where it was."""
    pin = request.POST.get("pin", "")
    if request.method == "POST" and len(pin) <= LONGEST_PIN and person(request).check_password(pin):
        request.session.pop("locked", None)
        request.session["seen_at"] = timezone.now().timestamp()
        return redirect(safe_next(request))
    request.session["locked"] = True
    fault = _("The PIN is not right. Type it again.") if request.method == "POST" else ""
    response = page(request, "people/lock.html", next=safe_next(request), fault=fault)
    response.status_code = 409 if fault else 200
    return response


@for_roles(*EVERYBODY)
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign out."""
    logout(request)
    return redirect("sign_in")


@for_anybody
@require_safe
def about(request: HttpRequest) -> HttpResponse:
    """Show what this is, what it is not, and the cautions."""
    return page(request, "people/about.html")


@for_roles(*EVERYBODY)
@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Go to the first page of the person's role."""
    return redirect(home_of(request))


def _identify(request: HttpRequest, template: str) -> HttpResponse:
    typed = request.POST.get("badge", "")
    if request.method == "POST":
        found = _known(request, typed, request.POST.get("pin", ""))
        if found is not None:
            target = safe_next(request) if "next" in request.POST else ""
            login(request, found)
            request.session.pop("locked", None)
            request.session["seen_at"] = timezone.now().timestamp()
            return redirect(target if target and target != request.path else home_of(request))
    fault = (
        _("Badge and PIN do not belong together. Scan the badge and type its PIN.")
        if request.method == "POST"
        else ""
    )
    next_page = request.POST.get("next") or request.GET.get("next") or ""
    response = page(request, template, badge=typed[:40], fault=fault, next=next_page)
    response.status_code = 409 if fault else 200
    return response


def _known(request: HttpRequest, badge: str, pin: str) -> Person | None:
    try:
        code = scanning.read_own_code(badge, "B")
    except Refusal:
        return None
    return authenticate(request, badge=code, password=pin) if len(pin) <= LONGEST_PIN else None
