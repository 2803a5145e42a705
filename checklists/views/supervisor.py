"""The supervisor's desk: now, finished work with its times, the same as CSV, hoods switched on and off."""

from __future__ import annotations

import csv

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from checklists import run
from checklists.views.shared import SUPERVISOR, TECHNICIAN, for_anybody, for_roles, page, person
from checklists.worklists import bench, supervision, wall

for_supervisor = for_roles(SUPERVISOR)


@for_supervisor
@require_safe
def now(request: HttpRequest) -> HttpResponse:
    """Show what is in each hood now."""
    run.keep_days()
    facts = {"screen": supervision.now_screen(), "wall_key": wall.key_of(person(request))}
    return page(request, "supervisor/now.html", **facts)


@for_supervisor
@require_safe
def now_rows(request: HttpRequest) -> HttpResponse:
    """Answer a waiting desk: nothing new, or the rows."""
    if request.headers.get("If-None-Match") == supervision.now_etag():
        return HttpResponse(status=304)
    return page(request, "supervisor/_now.html", screen=supervision.now_screen())


def _wall(request: HttpRequest, template: str, key: str) -> HttpResponse:
    if not wall.opens(key):
        raise Http404
    return page(request, template, screen=wall.wall_screen(), wall_key=key)


@for_anybody
@require_safe
def wall_screen(request: HttpRequest, key: str) -> HttpResponse:
    """Show the wall to whoever has the key of one: no patient and no amount stands on it."""
    return _wall(request, "supervisor/wall.html", key)


@for_anybody
@require_safe
def wall_rows(request: HttpRequest, key: str) -> HttpResponse:
    """Answer a waiting wall: nothing new, or the rows."""
    if wall.opens(key) and request.headers.get("If-None-Match") == supervision.now_etag():
        return HttpResponse(status=304)
    return _wall(request, "supervisor/_wall.html", key)


@for_supervisor
@require_safe
def finished(request: HttpRequest) -> HttpResponse:
    """List what ended in the last 30 days."""
    return page(request, "supervisor/finished.html", rows=supervision.finished_rows())


@for_supervisor
@require_safe
def finished_one(request: HttpRequest, code: str) -> HttpResponse:
    """Show the time of every step of one preparation."""
    return page(request, "supervisor/finished_one.html", screen=supervision.finished_screen(bench.find(code)))


@for_supervisor
@require_safe
def finished_csv(request: HttpRequest) -> HttpResponse:
    """Give the step times as CSV."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="step_times.csv"'
    csv.writer(response).writerows(supervision.csv_rows())
    return response


@for_roles(TECHNICIAN, SUPERVISOR)
@require_safe
def hoods(request: HttpRequest) -> HttpResponse:
    """List the hoods, to be switched on and off."""
    return page(request, "supervisor/hoods.html", screen=supervision.now_screen())


@for_roles(TECHNICIAN, SUPERVISOR)
@require_POST
def switch_hood(request: HttpRequest, number: int) -> HttpResponse:
    """Note that a hood was switched on or off."""
    hood = supervision.find_hood(number)
    if hood is None:
        raise Http404
    run.switch_hood(hood=hood, to=request.POST.get("to", ""))
    return redirect("hoods")
