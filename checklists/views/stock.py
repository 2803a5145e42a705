"""Stock: lots received, held back, freed, recalled; what stands open; the run plan of a shift."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from checklists import run
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
from checklists.worklists import opened as containers
from checklists.worklists import stock as shelf
from checklists.worklists.label_sheets import opened_sheet
from checklists.worklists.run_plan import plan_screen as run_plan_screen
from checklists.worklists.run_plan import suggested
from compounding.formulary.lots import MOST_LINES
from compounding.formulary.refusals import FileTooLong
from compounding.reckoning.refusals import Refusal

if TYPE_CHECKING:
    from compounding.formulary.models import Lot

LARGEST_FILE = 100_000


def _stock_page(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    said, typed = (refusal.sentence, request.POST.get("scan", "")[:200]) if refusal else ("", "")
    return page(request, "stock/stock.html", screen=shelf.stock_screen(said, typed))


@for_roles(*EVERYBODY)
@require_safe
def stock(request: HttpRequest) -> HttpResponse:
    """List every lot."""
    return _stock_page(request)


@for_roles(*EVERYBODY)
@require_POST
@refused_as(_stock_page)
def receive_lot(request: HttpRequest) -> HttpResponse:
    """Receive the lot that was scanned, or every lot of a file."""
    if "list" in request.FILES:
        run.receive_lots(text=_text(request), person=person(request), key=key(request))
        return redirect("stock")
    lot = run.receive_lot(text=request.POST.get("scan", ""), person=person(request), key=key(request))
    return redirect("lot", lot.pk)


def _lot_page(request: HttpRequest, number: int, refusal: Refusal | None = None) -> HttpResponse:
    said, reason = (refusal.sentence, request.POST.get("reason", "")[:300]) if refusal else ("", "")
    screen = shelf.lot_screen(_found(number), person(request), refusal=said, reason=reason)
    return page(request, "stock/lot.html", screen=screen)


@for_roles(*EVERYBODY)
@require_safe
def lot(request: HttpRequest, number: int) -> HttpResponse:
    """Show one lot and every preparation that holds it."""
    return _lot_page(request, number)


@for_roles(*EVERYBODY)
@require_POST
@refused_as(_lot_page)
def change_lot(request: HttpRequest, number: int) -> HttpResponse:
    """Hold a lot back, free it, or recall it."""
    to, reason = request.POST.get("to", ""), request.POST.get("reason", "")
    run.change_lot(lot=_found(number), to=to, reason=reason, person=person(request), key=key(request))
    return redirect("lot", number)


@for_roles(*EVERYBODY)
@require_safe
def opened(request: HttpRequest) -> HttpResponse:
    """List the containers that stand open."""
    return page(request, "stock/opened.html", screen=containers.opened_screen())


@for_roles(*EVERYBODY)
@require_safe
def opened_label(request: HttpRequest, code: str) -> HttpResponse:
    """Show the label of one opened container, to be printed."""
    found = opened_sheet(code, request.GET.get("size", ""))
    if found is None:
        raise Http404
    return page(request, "paper/label.html", screen=found)


@for_roles(*EVERYBODY)
@require_POST
def discard_container(request: HttpRequest, code: str) -> HttpResponse:
    """Take down that an opened container was put to the waste."""
    run.discard_container(code=code, person=person(request))
    return redirect("opened")


def _plan_page(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    screen = run_plan_screen(refusal.sentence if refusal else "")
    return page(request, "stock/run_plan.html", screen=screen)


@for_roles(TECHNICIAN, PHARMACIST)
@require_safe
def run_plan(request: HttpRequest) -> HttpResponse:
    """Show the shift's orders so that the least is opened and wasted."""
    return _plan_page(request)


@for_roles(TECHNICIAN, PHARMACIST)
@require_POST
@refused_as(_plan_page)
def put_plan_up(request: HttpRequest) -> HttpResponse:
    """Put the plan's turn up on the technicians' list."""
    run.put_plan_up(rows=suggested(), person=person(request), key=key(request))
    return redirect("run_plan")


@for_roles(TECHNICIAN, PHARMACIST)
@require_POST
def let_plan_go(request: HttpRequest) -> HttpResponse:
    """Go back to the list by urgency."""
    run.let_plan_go()
    return redirect("run_plan")


def _found(number: int) -> Lot:
    found = shelf.find(number)
    if found is None:
        raise Http404
    return found


def _text(request: HttpRequest) -> str:
    """Return the text of the file that was sent. Refuses what is no such text."""
    sent = request.FILES["list"]
    whole = sent.read(LARGEST_FILE + 1)  # type: ignore[union-attr]
    try:
        text = whole.decode("utf-8") if len(whole) <= LARGEST_FILE else ""
    except UnicodeDecodeError:
        text = ""
    if whole and not text:
        raise FileTooLong(most=str(MOST_LINES))
    return text
