"""Signing in with badge and PIN, handing over, locking and signing out; and the page about the program."""

from __future__ import annotations

from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from checklists import run
from checklists.views.shared import (
    EVERYBODY,
    address,
    for_anybody,
    for_roles,
    home_of,
    name_device,
    page,
    person,
    refused_as,
    safe_next,
)
from compounding.reckoning.refusals import Refusal


def _door(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    facts = {"badge": request.POST.get("badge", "")[:40], "is_set_up": run.is_set_up()}
    return _shown(request, "people/sign_in.html", refusal, **facts)


def _handing_over(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    badge = request.POST.get("badge", "")[:40]
    return _shown(request, "people/hand_over.html", refusal, badge=badge, is_set_up=True)


def _locked(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    request.session["locked"] = True
    fault = refusal.sentence if refusal else ""
    return page(request, "people/lock.html", next=safe_next(request), fault=fault)


def _shown(request: HttpRequest, template: str, refusal: Refusal | None, **facts: object) -> HttpResponse:
    next_page = request.POST.get("next") or request.GET.get("next") or ""
    fault = refusal.sentence if refusal else ""
    return page(request, template, fault=fault, next=next_page, **facts)


@for_anybody
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_door)
def sign_in(request: HttpRequest) -> HttpResponse:
    """Ask for badge and PIN."""
    return _identify(request) if request.method == "POST" else _door(request)


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_handing_over)
def hand_over(request: HttpRequest) -> HttpResponse:
    """Let the next person identify; the place is kept."""
    return _identify(request) if request.method == "POST" else _handing_over(request)


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_locked)
def lock(request: HttpRequest) -> HttpResponse:
    """Lock the device; the PIN of the person who is signed in opens it where it was."""
    if request.method != "POST":
        return _locked(request)
    run.open_lock(person=person(request), pin=request.POST.get("pin", ""), address=address(request))
    request.session.pop("locked", None)
    request.session["seen_at"] = timezone.now().timestamp()
    return redirect(safe_next(request))


@for_roles(*EVERYBODY)
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign out; garb worn so far is not taken for clean any more."""
    run.sign_out(person=person(request))
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


def _identify(request: HttpRequest) -> HttpResponse:
    """Let in whoever badge and PIN belong to; a PIN that is due is changed before anything else."""
    typed = {"badge": request.POST.get("badge", ""), "pin": request.POST.get("pin", "")}
    found = run.identify(**typed, address=address(request))
    wanted = safe_next(request) if "next" in request.POST else ""
    login(request, found)
    request.session.pop("locked", None)
    request.session["seen_at"] = timezone.now().timestamp()
    request.session["pin_due"] = run.is_due(found)
    target = wanted if wanted and wanted != request.path else home_of(request)
    return name_device(request, redirect(target))
