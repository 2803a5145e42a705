"""A code that was scanned: read out of a photograph, and the page that it leads to."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from checklists.views.shared import EVERYBODY, for_roles, person
from checklists.worklists import finding
from compounding.formulary import photographed
from compounding.formulary.refusals import NotAPicture
from compounding.reckoning.refusals import Refusal


@for_roles(*EVERYBODY)
@require_POST
def read_picture(request: HttpRequest) -> JsonResponse:
    """Say what stands in the one code of a photograph; the page puts it into its field."""
    sent = request.FILES.get("picture")
    try:
        if sent is None or isinstance(sent, list):
            raise NotAPicture()
        return JsonResponse({"text": photographed.read_picture(sent.read(photographed.LARGEST + 1))})
    except Refusal as refusal:
        return JsonResponse({"sentence": refusal.sentence}, status=409)


@for_roles(*EVERYBODY)
@require_safe
def find_code(request: HttpRequest, code: str) -> HttpResponse:
    """Go to the page of a preparation whose square was read by the phone's own camera."""
    return redirect(finding.address_of(code, person(request)))


@for_roles(*EVERYBODY)
@require_POST
def find(request: HttpRequest) -> HttpResponse:
    """Go to the page of the preparation whose label was scanned or typed."""
    return redirect(finding.address_of(request.POST.get("scan", ""), person(request)))
