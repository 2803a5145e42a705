"""Fit to work: what is due, duties done and read, results of people recorded."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from checklists import run
from checklists.views.shared import (
    EVERYBODY,
    SUPERVISOR,
    TECHNICIAN,
    for_roles,
    key,
    page,
    person,
    refused_as,
)
from checklists.worklists import fit as fitness
from compounding.reckoning.refusals import Refusal

if TYPE_CHECKING:
    from checklists.models import Duty


@for_roles(*EVERYBODY)
@require_safe
def fit(request: HttpRequest) -> HttpResponse:
    """Show what is due of people, hoods and rooms."""
    return page(request, "fitness/fit.html", screen=fitness.fit_screen())


def _found(number: int) -> Duty:
    found = fitness.find_duty(number)
    if found is None:
        raise Http404
    return found


def _duty_page(request: HttpRequest, number: int, refusal: Refusal | None = None) -> HttpResponse:
    duty, said = _found(number), refusal.sentence if refusal else ""
    sent = dict(request.POST.lists()) if refusal else None
    screen = fitness.duty_screen(duty, key(request), said, sent)
    return page(request, "fitness/duty.html", screen=screen)


@for_roles(TECHNICIAN, SUPERVISOR)
@require_http_methods(["GET", "HEAD", "POST"])
@refused_as(_duty_page)
def duty(request: HttpRequest, number: int) -> HttpResponse:
    """Show a duty and its log, or keep that it was done."""
    if request.method != "POST":
        return _duty_page(request, number)
    sent = request.POST
    run.do_duty(
        duty=_found(number),
        ticked=sent.getlist("ticked"),
        value=sent.get("value", ""),
        note=sent.get("note", ""),
        person=person(request),
        key=key(request),
    )
    return redirect("duty", number)


@for_roles(TECHNICIAN, SUPERVISOR)
@require_safe
def duty_csv(request: HttpRequest, number: int) -> HttpResponse:
    """Give the log of a duty as CSV."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="log.csv"'
    csv.writer(response).writerows(fitness.duty_sheet(_found(number)))
    return response


def _people_page(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    said, typed = (refusal.sentence, request.POST.dict()) if refusal else ("", {})
    return page(request, "fitness/people.html", screen=fitness.people_screen(key(request), said, typed))


@for_roles(SUPERVISOR)
@require_safe
def fit_people(request: HttpRequest) -> HttpResponse:
    """Show everybody's qualifications, and the form that records one."""
    return _people_page(request)


@for_roles(SUPERVISOR)
@require_POST
@refused_as(_people_page)
def qualify(request: HttpRequest) -> HttpResponse:
    """Record what somebody showed."""
    sent = request.POST
    run.qualify(
        person=fitness.find_person(sent.get("person", "")),
        kind=fitness.find_kind(sent.get("kind", "")),
        told=sent.dict(),
        by=person(request),
        key=key(request),
    )
    return redirect("fit_people")
