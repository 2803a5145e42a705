"""Print pages: the label, the compounding record, the sheet of codes on the shelf."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from checklists.views.shared import EVERYBODY, SUPERVISOR, TECHNICIAN, for_roles, page, person
from checklists.worklists import bench, papers, records, shelf


@for_roles(*EVERYBODY)
@require_safe
def label(request: HttpRequest, code: str) -> HttpResponse:
    """Show the labels to print."""
    preparation = bench.find(code)
    records.refuse_while_blind(preparation, person(request))
    return page(request, "paper/label.html", screen=papers.label_sheet(preparation))


@for_roles(*EVERYBODY)
@require_safe
def record(request: HttpRequest, code: str) -> HttpResponse:
    """Show the compounding record."""
    preparation = bench.find(code)
    records.refuse_while_blind(preparation, person(request))
    return page(request, "paper/record.html", screen=records.record(preparation))


@for_roles(TECHNICIAN, SUPERVISOR)
@require_safe
def shelf_codes(request: HttpRequest) -> HttpResponse:
    """Show the codes of lots and hoods, to be printed for shelves and hoods."""
    return page(request, "paper/shelf.html", screen=shelf.shelf())
