"""The desk's calculators, one at a time; they write nothing."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from checklists.views.shared import EVERYBODY, for_roles, page
from checklists.worklists.calculator import screen


@for_roles(*EVERYBODY)
@require_safe
def calculator(request: HttpRequest) -> HttpResponse:
    """Show one calculator with what was typed, its answer and the working."""
    shown = screen(request.GET.get("which", ""), request.GET.dict())
    return page(request, "calculator/calculator.html", screen=shown)
