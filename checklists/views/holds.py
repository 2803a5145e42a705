"""The pharmacist's phone at work that has stopped: why, its amounts once asked for, and how it goes on."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from checklists import run
from checklists.run.holds import resolutions
from checklists.run.signing import RESOLVES
from checklists.views.shared import PHARMACIST, for_roles, key, page, person, refused_as
from checklists.worklists import bench, checks, compared
from compounding.reckoning.refusals import Refusal

for_pharmacist = for_roles(PHARMACIST)


def _hold_page(request: HttpRequest, code: str, number: int, refusal: Refusal | None = None) -> HttpResponse:
    found = checks.hold_for(bench.find(code), number, person(request))
    screen = compared.hold(
        found,
        person(request),
        resolutions(found),
        refusal=refusal.sentence if refusal else "",
        reason=request.POST.get("reason", "")[:500],
    )
    return page(
        request,
        "checker/hold.html",
        screen=screen,
        chosen=request.POST.get("resolution", ""),
        meaning=RESOLVES,
    )


@for_pharmacist
@require_safe
def hold(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """Show a hold; its amounts only after they were asked for."""
    return _hold_page(request, code, number)


@for_pharmacist
@require_POST
@refused_as(_hold_page)
def see_hold(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """Open a hold with its amounts."""
    run.see_hold(code=code, person=person(request), key=key(request), hold=number)
    return redirect("hold", code, number)


@for_pharmacist
@require_POST
@refused_as(_hold_page)
def resolve_hold(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """Resolve a hold, signed."""
    run.resolve(
        code=code,
        person=person(request),
        key=key(request),
        hold=number,
        resolution=request.POST.get("resolution", ""),
        reason=request.POST.get("reason", ""),
        pin=request.POST.get("pin", ""),
    )
    return redirect("waiting")
