"""The supervisor's timings: where time goes, the latest times of one thing, what stopped the work."""

from __future__ import annotations

import csv
from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from checklists import run
from checklists.views.shared import SUPERVISOR, for_roles, page
from checklists.worklists import capacity as forecasts
from checklists.worklists import durations, individuals, stops, timing_sheets

for_supervisor = for_roles(SUPERVISOR)


@for_supervisor
@require_safe
def timings(request: HttpRequest) -> HttpResponse:
    """Show where time goes; what past days came to is kept first, so that no page counts them again."""
    run.keep_days()
    screen = durations.duration_screen(durations.asked(request.GET.dict()))
    return page(request, "timings/durations.html", screen=screen)


@for_supervisor
@require_safe
def timings_latest(request: HttpRequest) -> HttpResponse:
    """Show the latest times of one thing as a control chart."""
    wanted = durations.asked(request.GET.dict())
    screen = individuals.individuals_screen(wanted)
    return page(request, "timings/individuals.html", screen=screen, asked=wanted)


@for_supervisor
@require_safe
def timings_reasons(request: HttpRequest) -> HttpResponse:
    """Show what stopped the work, by reason, and the checks that differed."""
    screen = stops.stops_screen(durations.asked(request.GET.dict()))
    return page(request, "timings/reasons.html", screen=screen)


@for_supervisor
@require_safe
def capacity(request: HttpRequest) -> HttpResponse:
    """Show whether what is due can be made with the hoods and people there are, or that are asked for."""
    run.keep_days()
    screen = forecasts.capacity_screen(request.GET.dict())
    return page(request, "timings/capacity.html", screen=screen)


@for_supervisor
@require_safe
def timings_csv(request: HttpRequest) -> HttpResponse:
    """Give the numbers behind a chart."""
    return _sheet("timings.csv", timing_sheets.rows_of(durations.asked(request.GET.dict())))


@for_supervisor
@require_safe
def timings_reasons_csv(request: HttpRequest) -> HttpResponse:
    """Give the reasons and the checks that differed."""
    return _sheet("reasons.csv", timing_sheets.reasons_of(durations.asked(request.GET.dict())))


def _sheet(name: str, rows: Iterable[Iterable[str]]) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    csv.writer(response).writerows(rows)
    return response
