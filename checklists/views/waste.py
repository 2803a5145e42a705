"""What is left of a controlled medicine: measured, destroyed, witnessed."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from checklists import run
from checklists.refusals import WasteAmounts
from checklists.run.signing import WITNESSES
from checklists.run.typed import SHORT_REASON
from checklists.views.shared import TECHNICIAN, address, for_roles, key, page, person, refused_as
from checklists.worklists import bench, waste
from compounding.reckoning.refusals import Refusal


def _waste_page(request: HttpRequest, code: str, refusal: Refusal | None = None) -> HttpResponse:
    screen = waste.screen(
        bench.find(code),
        typed={name: str(value)[:SHORT_REASON] for name, value in request.POST.items() if name != "pin"},
        faults=refusal.by_field if isinstance(refusal, WasteAmounts) else {},
        refusal=refusal.sentence if refusal else "",
    )
    return page(request, "technician/waste.html", screen=screen, meaning=WITNESSES)


@for_roles(TECHNICIAN)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_waste_page)
def account_for_waste(request: HttpRequest, code: str) -> HttpResponse:
    """Ask what was measured and who saw it destroyed; keep it."""
    if request.method != "POST":
        return _waste_page(request, code)
    preparation = bench.find(code)
    fields = {one.container: one.field for one in waste.screen(preparation, typed={}, faults={}).rows}
    witness = {"badge": request.POST.get("badge", ""), "pin": request.POST.get("pin", "")}
    done = run.account_for_waste(
        code=code,
        person=person(request),
        key=key(request),
        measured={container: request.POST.get(field, "") for container, field in fields.items()},
        reason=request.POST.get("reason", ""),
        witness={**witness, "address": address(request)},
    )
    return redirect("step", code) if done.state == "in-work" else redirect("to_make")
