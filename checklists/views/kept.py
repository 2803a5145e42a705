"""Going on without a network: the steps ahead that a tablet keeps, and finished ones that it sends later."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.views.decorators.http import require_POST, require_safe

from checklists import run
from checklists.views.shared import TECHNICIAN, device, for_roles, key, person, refused_as
from checklists.worklists import ahead, bench
from checklists.worklists.screens import StepScreen
from compounding.reckoning.refusals import Refusal


def _alone(request: HttpRequest, template: str, screen: StepScreen) -> str:
    """Write one step's screen, without the token that only this session may send."""
    context = {"screen": screen, "skeleton": "fragment.html", "request": request}
    return render_to_string(template, context)


def _written(request: HttpRequest, step: ahead.StepAhead) -> dict[str, Any]:
    screen = step.screen
    return step.facts | ({"html": _alone(request, f"steps/{screen.kind}.html", screen)} if screen else {})


@for_roles(TECHNICIAN)
@require_safe
def steps_ahead(request: HttpRequest, code: str) -> HttpResponse:
    """Give the steps ahead to the technician who is at the preparation; nothing to anybody else."""
    pack = ahead.pack(bench.find(code), person(request))
    if pack is None:
        return JsonResponse({"code": code, "steps": []})
    waits = _alone(request, "technician/waits_away.html", pack.waits)
    steps = [_written(request, step) for step in pack.steps]
    return JsonResponse({**pack.facts, "waits": waits, "steps": steps})


def _not_taken(request: HttpRequest, code: str, place: int, refusal: Refusal | None = None) -> HttpResponse:
    return JsonResponse({"state": "refused", "sentence": refusal.sentence if refusal else ""})


@for_roles(TECHNICIAN)
@require_POST
@refused_as(_not_taken)
def keep_step(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Take a step that was finished without network; say what became of it."""
    if request.POST.get("person") != str(person(request).pk):
        return JsonResponse({"state": "of another"}, status=409)
    times = {name: request.POST.get(name, "") for name in ("done_at", "sent_at")}
    sent = key(request)
    run.finish_step(
        code=code,
        person=person(request),
        key=sent,
        place=place,
        given={},
        kept=run.kept(**times, device=device(request)),
    )
    return JsonResponse(bench.became_of(bench.find(code), sent))
