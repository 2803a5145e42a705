"""Draws shown by photograph: the camera at the hood, the picture itself, and a checker who cannot read it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from checklists import run
from checklists.darkroom import HEAVIEST
from checklists.views.shared import (
    EVERYBODY,
    PHARMACIST,
    TECHNICIAN,
    for_roles,
    key,
    page,
    person,
    refused_as,
)
from checklists.worklists import bench, photographs, readers
from compounding.reckoning.refusals import Refusal


def _camera_page(request: HttpRequest, code: str, place: int, refusal: Refusal | None = None) -> HttpResponse:
    preparation = bench.own(code, person(request))
    screen = photographs.camera(preparation, place, refusal=refusal.sentence if refusal else "")
    return page(request, "technician/camera.html", screen=screen)


@for_roles(TECHNICIAN)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_camera_page)
def camera(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Show the camera; keep the photograph that it sends, and go back to the step."""
    if request.method != "POST":
        return _camera_page(request, code, place)
    sent = request.FILES.get("picture")
    # One byte more than is taken tells as much as all of them.
    picture = sent.read(HEAVIEST + 1) if sent else b""
    run.photograph(code=code, person=person(request), key=key(request), place=place, picture=picture)
    return redirect("step", code)


@for_roles(*EVERYBODY)
@require_safe
def photograph(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """Give one photograph to somebody who may see it; its name says nothing, and no browser keeps it."""
    picture = readers.picture(bench.find(code), number, person(request))
    response = HttpResponse(picture, content_type="image/jpeg")
    response["Cache-Control"] = "private, no-store"
    response["Content-Disposition"] = "inline"
    return response


@for_roles(PHARMACIST)
@require_POST
def cannot_read_photograph(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Ask for another photograph, or to read the syringes in person."""
    wants = request.POST.get("wants", "")
    run.ask_anew(code=code, person=person(request), key=key(request), place=place, wants=wants)
    return redirect("check", code, place)
