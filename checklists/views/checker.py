"""The pharmacist's phone: what waits, one check at a time, release."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import HttpResponseClientRedirect

from checklists import run
from checklists.method.step_kinds import KINDS, Takes
from checklists.refusals import ChecksByField
from checklists.run.checks import INSPECTED
from checklists.run.signing import RELEASES
from checklists.run.typed import LONGEST_REASON
from checklists.views.shared import PHARMACIST, for_roles, key, page, person, refused_as
from checklists.worklists import bench, checks, compared
from compounding.reckoning.refusals import Refusal

for_pharmacist = for_roles(PHARMACIST)
REASON = "reason_"


@for_pharmacist
@require_safe
def waiting(request: HttpRequest) -> HttpResponse:
    """List what waits for a pharmacist, oldest first."""
    return page(request, "checker/waiting.html", screen=checks.waiting_list(person(request)))


@for_pharmacist
@require_safe
def waiting_rows(request: HttpRequest) -> HttpResponse:
    """Answer a waiting phone: nothing new, or the list."""
    if request.headers.get("If-None-Match") == checks.waiting_etag(person(request)):
        return HttpResponse(status=304)
    return page(request, "checker/_waiting.html", screen=checks.waiting_list(person(request)))


def _first_check(request: HttpRequest, code: str, place: int, refusal: Refusal | None) -> HttpResponse:
    preparation = bench.find(code)
    faults = refusal.by_field if isinstance(refusal, ChecksByField) else {}
    typed = {
        name: value[: LONGEST_REASON if name.startswith(REASON) else 40]
        for name, value in request.POST.items()
        if isinstance(value, str)
    }
    screen = checks.first_check(
        preparation, checks.find_step(preparation, place), refusal=_said(refusal), typed=typed, faults=faults
    )
    return page(request, "checker/first_check.html", screen=screen)


def _sight(request: HttpRequest, code: str, place: int, refusal: Refusal | None) -> HttpResponse:
    preparation = bench.find(code)
    step, typed = checks.find_step(preparation, place), request.POST.get("volume", "")[:40]
    screen = checks.sight(
        preparation,
        step,
        refusal=_said(refusal),
        typed=typed if refusal else "",
        reason=request.POST.get("reason", "")[:LONGEST_REASON] if refusal else "",
    )
    return page(request, "checker/sight.html", screen=screen)


def _inspect(request: HttpRequest, code: str, place: int, refusal: Refusal | None) -> HttpResponse:
    preparation = bench.find(code)
    screen = compared.final_check(preparation, checks.find_step(preparation, place), refusal=_said(refusal))
    return page(request, "checker/final_check.html", screen=screen, stated=_stated(request))


def _release(request: HttpRequest, code: str, place: int, refusal: Refusal | None) -> HttpResponse:
    preparation = bench.find(code)
    step = checks.find_step(preparation, place)
    screen = compared.release(
        preparation, step, person(request), timezone.now(), RELEASES, refusal=_said(refusal)
    )
    return page(request, "checker/release.html", screen=screen)


SCREENS: dict[Takes, Callable[[HttpRequest, str, int, Refusal | None], HttpResponse]] = {
    Takes.RECALCULATION: _first_check,
    Takes.SIGHTING: _sight,
    Takes.INSPECTION: _inspect,
    Takes.SIGNATURE: _release,
}


def _check_page(request: HttpRequest, code: str, place: int, refusal: Refusal | None = None) -> HttpResponse:
    """Show the check the work has come to, to a pharmacist who may take it."""
    step = checks.step_for(bench.find(code), place, person(request))
    return SCREENS[KINDS[step.kind].takes](request, code, place, refusal)


@for_pharmacist
@require_safe
def check(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Show one check."""
    return _check_page(request, code, place)


@for_pharmacist
@require_POST
def take_check(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Take a check: from now on the tablet names this pharmacist."""
    run.take_check(code=code, person=person(request), key=key(request), place=place)
    return redirect("check", code, place)


@for_pharmacist
@require_POST
@refused_as(_check_page)
def recalculate(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Commit the first check."""
    typed = {
        int(name[7:]): value
        for name, value in request.POST.items()
        if name.startswith("volume_") and name[7:].isdecimal() and len(name) < 12
    }
    run.recalculate(
        code=code,
        person=person(request),
        key=key(request),
        place=place,
        volumes=typed,
        has_seen_materials=bool(request.POST.get("materials")),
        reasons={
            name.removeprefix(REASON): str(value)
            for name, value in request.POST.items()
            if name.startswith(REASON)
        },
    )
    return redirect("committed", code, place)


@for_pharmacist
@require_POST
@refused_as(_check_page)
def sight_draw(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Commit what was read off a syringe; then the next one, or the three amounts side by side."""
    run.sight_draw(
        code=code,
        person=person(request),
        key=key(request),
        place=place,
        draw=_draw(request),
        typed=request.POST.get("volume", ""),
    )
    return _walk_on(request, code, place)


@for_pharmacist
@require_POST
@refused_as(_check_page)
def cannot_read(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Pass over one syringe that cannot be read; then the next one."""
    run.cannot_read(
        code=code,
        person=person(request),
        key=key(request),
        place=place,
        draw=_draw(request),
        reason=request.POST.get("reason", ""),
    )
    return _walk_on(request, code, place)


def _draw(request: HttpRequest) -> int:
    draw = request.POST.get("draw", "")
    return int(draw) if draw.isdecimal() and len(draw) < 5 else 0


def _walk_on(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Answer with the next syringe at once while any is left, else with the amounts side by side."""
    step = checks.own_step(bench.find(code), place, person(request))
    if not request.htmx:  # type: ignore[attr-defined]
        return redirect("committed", code, place)
    if step.finished_at is None:
        return _check_page(request, code, place)
    return HttpResponseClientRedirect(reverse("committed", args=[code, place]))


@for_pharmacist
@require_safe
def committed(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """After commitment: the next syringe; or agree and differ in words; after a reading with the amounts,
    once nobody has still to read it blind.
    """
    preparation = bench.find(code)
    step = checks.own_step(preparation, place, person(request))
    if step.finished_at is None:
        return redirect("check", code, place)
    if not compared.is_open(preparation, step):
        return page(request, "checker/committed.html", screen=compared.answer(preparation, step))
    run.see_compared(
        code=code, person=person(request), key=f"compared {place} {person(request).badge}", place=place
    )
    return page(request, "checker/compared.html", screen=compared.compared_step(preparation, step))


@for_pharmacist
@require_POST
@refused_as(_check_page)
def inspect(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Commit the final check; the release follows."""
    run.inspect(code=code, person=person(request), key=key(request), place=place, stated=_stated(request))
    return redirect("waiting")


@for_pharmacist
@require_POST
@refused_as(_check_page)
def release(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Release, signed."""
    run.release(code=code, person=person(request), key=key(request), pin=request.POST.get("pin", ""))
    return redirect("committed", code, place)


@for_pharmacist
@require_POST
@refused_as(_check_page)
def refuse_check(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Refuse a check with a reason."""
    run.refuse_check(
        code=code,
        person=person(request),
        key=key(request),
        place=place,
        reason=request.POST.get("reason", ""),
        cannot_read=bool(request.POST.get("cannot_read")),
    )
    return redirect("waiting")


@for_pharmacist
@require_POST
@refused_as(_check_page)
def reject_inspected(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Reject one unit of a batch at its final check; the check goes on with the others."""
    which = request.POST.get("which", "")
    run.reject_inspected(
        code=code,
        person=person(request),
        key=key(request),
        place=place,
        unit=int(which) if which.isascii() and which.isdecimal() and len(which) < 5 else 0,
        reason=request.POST.get("reason", ""),
    )
    return redirect("check", code, place)


def _stated(request: HttpRequest) -> dict[str, bool]:
    return {name: bool(request.POST.get(name)) for name in INSPECTED}


def _said(refusal: Refusal | None) -> str:
    return refusal.sentence if refusal else ""
