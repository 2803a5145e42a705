"""The code in a photograph, for a device without a scanner and a browser that reads none itself."""

from __future__ import annotations

from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_POST

from checklists.views.shared import EVERYBODY, for_roles
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
