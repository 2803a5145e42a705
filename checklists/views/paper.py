"""Print pages: the label, the compounding record, the sheet of codes, the sheet of pictures."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from checklists import run
from checklists.run.signing import AMENDS
from checklists.views.shared import (
    EVERYBODY,
    PHARMACIST,
    SUPERVISOR,
    TECHNICIAN,
    for_roles,
    key,
    page,
    person,
    refused_as,
)
from checklists.worklists import bench, label_sheets, picture_sheet, readers, records, shelf
from compounding.reckoning.refusals import Refusal


@for_roles(*EVERYBODY)
@require_safe
def label(request: HttpRequest, code: str) -> HttpResponse:
    """Show the labels to print."""
    preparation = bench.find(code)
    readers.refuse_while_blind(preparation, person(request))
    asked = (request.GET.get(name, "") for name in ("size", "of", "unit"))
    return page(request, "paper/label.html", screen=label_sheets.label_sheet(preparation, *asked))


@for_roles(*EVERYBODY)
@require_safe
def record(request: HttpRequest, code: str) -> HttpResponse:
    """Show the compounding record."""
    preparation = bench.find(code)
    readers.refuse_while_blind(preparation, person(request))
    return page(request, "paper/record.html", screen=records.record(preparation, person(request)))


def _amend_page(request: HttpRequest, code: str, refusal: Refusal | None = None) -> HttpResponse:
    preparation = bench.find(code)
    readers.refuse_while_blind(preparation, person(request))
    typed = {name: request.POST.get(name, "")[:500] for name in ("entry", "words")}
    fault = refusal.sentence if refusal else ""
    screen = records.amending(preparation, key=key(request))
    return page(request, "paper/amend.html", screen=screen, typed=typed, fault=fault, meaning=AMENDS)


@for_roles(PHARMACIST, SUPERVISOR)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_amend_page)
def amend(request: HttpRequest, code: str) -> HttpResponse:
    """Set right what an entry says, by a new entry."""
    if request.method != "POST":
        return _amend_page(request, code)
    number = request.POST.get("entry", "").strip()
    run.amend(
        code=code,
        person=person(request),
        key=key(request),
        entry=int(number) if number.isdecimal() and len(number) < 6 else 0,
        words=request.POST.get("words", ""),
        pin=request.POST.get("pin", ""),
    )
    return redirect("record", code)


@for_roles(TECHNICIAN, SUPERVISOR)
@require_safe
def shelf_codes(request: HttpRequest) -> HttpResponse:
    """Show the codes of lots and hoods, to be printed for shelves and hoods."""
    return page(request, "paper/shelf.html", screen=shelf.shelf())


@for_roles(*EVERYBODY)
@require_safe
def pictures(request: HttpRequest) -> HttpResponse:
    """Show every kind of picture at its size on the tablet, to developers only."""
    if not settings.DEBUG:
        raise Http404
    return page(request, "paper/pictures.html", screen=picture_sheet.sheet())


@for_roles(TECHNICIAN, SUPERVISOR)
@require_safe
def done_card(request: HttpRequest) -> HttpResponse:
    """Show the “done” card, to be printed and laid beside a fixed scanner."""
    return page(request, "paper/done_card.html", card=shelf.done_card())
