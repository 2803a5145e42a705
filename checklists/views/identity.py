"""One's own PIN and sessions, the first supervisor, and the supervisor's list of people."""

from __future__ import annotations

from django.contrib.auth import login, logout, update_session_auth_hash
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from checklists import run
from checklists.views.shared import (
    EVERYBODY,
    SUPERVISOR,
    address,
    for_anybody,
    for_roles,
    page,
    person,
    refused_as,
    safe_next,
)
from checklists.worklists import staff
from compounding.reckoning.refusals import Refusal

for_supervisor = for_roles(SUPERVISOR)


def _own_page(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    fault, is_due = refusal.sentence if refusal else "", bool(request.session.get("pin_due"))
    return page(request, "people/you.html", fault=fault, is_due=is_due, next=safe_next(request))


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_own_page)
def you(request: HttpRequest) -> HttpResponse:
    """Show who is signed in; change the PIN."""
    if request.method != "POST":
        return _own_page(request)
    typed = {name: request.POST.get(name, "") for name in ("present", "new", "again")}
    run.change_pin(person=person(request), **typed, address=address(request))
    update_session_auth_hash(request, person(request))
    request.session["pin_due"] = False
    return redirect(safe_next(request))


@for_roles(*EVERYBODY)
@require_POST
def sign_out_everywhere(request: HttpRequest) -> HttpResponse:
    """Sign out here and on every other device."""
    run.end_sessions(person=person(request), by=person(request), address=address(request))
    logout(request)
    return redirect("sign_in")


def _set_up_page(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    fault = refusal.sentence if refusal else ""
    return page(request, "people/set_up.html", fault=fault, name=request.POST.get("name", "")[:80])


@for_anybody
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_set_up_page)
def set_up(request: HttpRequest) -> HttpResponse:
    """Make the first supervisor with the code that the command prints; afterwards there is only the door."""
    if run.is_set_up():
        return redirect("sign_in")
    if request.method != "POST":
        return _set_up_page(request)
    typed = {name: request.POST.get(name, "") for name in ("code", "name", "pin", "again")}
    login(request, run.set_up(**typed, address=address(request)))
    request.session["seen_at"] = timezone.now().timestamp()
    return redirect("badges")


@for_anybody
@require_http_methods(["GET", "HEAD", "POST"])
def upkeep_door(request: HttpRequest) -> HttpResponse:
    """Lead to the one door: the upkeep pages have none of their own, which nobody would count tries at."""
    return redirect(f"{reverse('sign_in')}?next={reverse('admin:index')}")


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
def upkeep_pin(request: HttpRequest) -> HttpResponse:
    """Lead to the one place where a PIN is changed."""
    return redirect("you")


@for_supervisor
@require_safe
def list_people(request: HttpRequest) -> HttpResponse:
    """List everybody: who is shut out, whose PIN is due; and what happened lately at the door."""
    return page(request, "supervisor/people.html", screen=staff.people_screen())


@for_supervisor
@require_POST
def unlock(request: HttpRequest, number: int) -> HttpResponse:
    """Let somebody try their PIN again at once."""
    run.unlock(person=_found(number), by=person(request))
    return redirect("list_people")


@for_supervisor
@require_POST
def end_sessions(request: HttpRequest, number: int) -> HttpResponse:
    """Sign somebody out on every device."""
    run.end_sessions(person=_found(number), by=person(request), address=address(request))
    return redirect("list_people")


@for_supervisor
@require_safe
def badges(request: HttpRequest) -> HttpResponse:
    """Show every badge, to print and cut out."""
    return page(request, "paper/badges.html", screen=staff.badge_sheet())


def _found(number: int) -> staff.Somebody:
    found = staff.find(number)
    if found is None:
        raise Http404
    return found
