"""Work that was done on paper in a downtime, entered by two people."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from checklists import run
from checklists.refusals import PaperFaults
from checklists.run.signing import ENTERS_PAPER
from checklists.views.shared import EVERYBODY, address, for_roles, key, page, person, refused_as
from checklists.worklists import from_paper, orders
from compounding.reckoning.refusals import Refusal

LONGEST = 300


def _typed(request: HttpRequest) -> dict[str, str]:
    return {name: str(value)[:LONGEST] for name, value in request.POST.items() if name != "pin"}


def _paper_page(request: HttpRequest, number: str, refusal: Refusal | None = None) -> HttpResponse:
    order = orders.find(number)
    if order is None:
        raise Http404
    faults = refusal.by_field if isinstance(refusal, PaperFaults) else {}
    said = refusal.sentence if refusal else ""
    screen = from_paper.form(order, typed=_typed(request), faults=faults, refusal=said)
    return page(request, "orders/from_paper.html", screen=screen, meaning=ENTERS_PAPER)


@for_roles(*EVERYBODY)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_paper_page)
def enter_from_paper(request: HttpRequest, number: str) -> HttpResponse:
    """Ask for what stands on the paper, and for both who enter it; keep it."""
    if request.method != "POST":
        return _paper_page(request, number)
    order = orders.find(number)
    if order is None:
        raise Http404
    second = {"badge": request.POST.get("badge", ""), "pin": request.POST.get("pin", "")}
    done = run.enter_from_paper(
        order=order,
        person=person(request),
        key=key(request),
        typed=_typed(request),
        second={**second, "address": address(request)},
    )
    return redirect("record", done.code)
