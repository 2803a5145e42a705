"""The tablet beside the hood: the list, one step at a time, and what is wrong."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from checklists import run
from checklists.views.shared import TECHNICIAN, device, for_roles, key, page, person, refused_as
from checklists.worklists import batches, bench, mishaps, orders
from checklists.worklists.squares import square
from compounding.reckoning.refusals import Refusal

for_technician = for_roles(TECHNICIAN)


@for_technician
@require_safe
def to_make(request: HttpRequest) -> HttpResponse:
    """List what is to be made, most urgent first, a screenful at a time."""
    asked = request.GET.get("page", "1")
    number = int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 5 else 1
    return page(request, "technician/to_make.html", screen=orders.to_make(person(request), max(1, number)))


def _list_again(request: HttpRequest, refusal: Refusal | None = None, **where: str) -> HttpResponse:
    return page(
        request, "technician/to_make.html", screen=orders.to_make(person(request), refusal=_said(refusal))
    )


@for_technician
@require_POST
@refused_as(_list_again)
def open_order(request: HttpRequest, number: str) -> HttpResponse:
    """Open an order."""
    preparation = run.open_preparation(number=number, person=person(request), key=key(request))
    return redirect("step", preparation.code)


def _step_page(
    request: HttpRequest, code: str, refusal: Refusal | None = None, **where: object
) -> HttpResponse:
    """Show the step the work has come to, or that it has stopped or ended."""
    preparation = bench.find(code)
    screen = bench.step_screen(
        preparation,
        person(request),
        refusal=_said(refusal),
        typed=_typed(request, refusal),
        device=device(request),
    )
    request.session["in_hood"] = screen.is_in_hood
    template = bench.template_of(preparation, person(request), screen)
    response = page(request, template, screen=screen, door=_door(request, code) if screen.waiting else "")
    response["ETag"] = screen.etag
    return response


@for_technician
@require_safe
def step(request: HttpRequest, code: str) -> HttpResponse:
    """Show the step the work has come to; from now on this is the device that has it open."""
    run.open_on(code=code, person=person(request), device=device(request))
    return _step_page(request, code)


@for_technician
@require_safe
def poll_step(request: HttpRequest, code: str) -> HttpResponse:
    """Answer a waiting tablet: nothing new, or the step the work has come to."""
    if request.headers.get("If-None-Match") == bench.etag(bench.find(code)):
        return HttpResponse(status=304)
    return _step_page(request, code)


@for_technician
@require_POST
@refused_as(_step_page)
def finish_step(request: HttpRequest, code: str, place: int) -> HttpResponse:
    """Finish a step with what was typed, scanned or pressed; the next one is the answer."""
    given = {
        name: request.POST.get(name, "")
        for name in ("scan", "volume", "stands", "reason", "unit", "in_hand", "destroyed")
    }
    run.open_on(code=code, person=person(request), device=device(request))
    run.finish_step(code=code, person=person(request), key=key(request), place=place, given=given)
    return _step_page(request, code) if request.htmx else redirect("step", code)  # type: ignore[attr-defined]


def _reasons_page(
    request: HttpRequest, code: str, refusal: Refusal | None = None, **where: object
) -> HttpResponse:
    screen = mishaps.reasons(bench.own(code, person(request)), person(request), refusal=_said(refusal))
    return page(request, "technician/something_wrong.html", screen=screen)


@for_technician
@require_safe
def something_wrong(request: HttpRequest, code: str) -> HttpResponse:
    """Offer the reasons that may be said at this step."""
    return _reasons_page(request, code)


@for_technician
@require_safe
def mishap(request: HttpRequest, code: str, reason: str) -> HttpResponse:
    """Say what follows from a reason, and ask which syringe or container it is about."""
    return page(
        request, "technician/mishap.html", screen=mishaps.reason(bench.own(code, person(request)), reason)
    )


@for_technician
@require_POST
@refused_as(_reasons_page)
def report_mishap(request: HttpRequest, code: str, reason: str) -> HttpResponse:
    """Act on a reason; the step that puts it right is the answer, or the label to print, or the list."""
    choice = request.POST.get("choice", "")
    done = run.report_mishap(
        code=code, person=person(request), key=key(request), reason=reason, choice=choice
    )
    if mishaps.is_reprint(reason):
        return redirect(f"{reverse('label', args=[code])}?unit={_unit(choice) or ''}")
    return redirect("step", code) if done.state == "in-work" else redirect("to_make")


@for_technician
@require_POST
@refused_as(_step_page)
def leave_hood(request: HttpRequest, code: str) -> HttpResponse:
    """Take down that the hands left the hood; gloves are disinfected before the work goes on."""
    run.leave_hood(code=code, person=person(request), key=key(request))
    return _step_page(request, code) if request.htmx else redirect("step", code)  # type: ignore[attr-defined]


def _wrong_page(
    request: HttpRequest, code: str, refusal: Refusal | None = None, **where: object
) -> HttpResponse:
    preparation = bench.own(code, person(request))
    screen = bench.step_screen(preparation, person(request), refusal=_said(refusal))
    note = request.POST.get("reason", "")[:500]
    return page(request, "technician/something_else.html", screen=screen, note=note)


@for_technician
@require_safe
def something_else(request: HttpRequest, code: str) -> HttpResponse:
    """Offer the three ways out for what no reason names: stop, pause, give up."""
    return _wrong_page(request, code)


@for_technician
@require_POST
@refused_as(_wrong_page)
def raise_hold(request: HttpRequest, code: str) -> HttpResponse:
    """Stop the work and say why."""
    run.raise_hold(code=code, person=person(request), key=key(request), note=request.POST.get("reason", ""))
    return redirect("step", code)


@for_technician
@require_POST
@refused_as(_wrong_page)
def pause(request: HttpRequest, code: str) -> HttpResponse:
    """Put the work aside."""
    run.pause(code=code, person=person(request), key=key(request), reason=request.POST.get("reason", ""))
    return redirect("to_make")


@for_technician
@require_POST
@refused_as(_wrong_page)
def abandon(request: HttpRequest, code: str) -> HttpResponse:
    """Give the work up."""
    run.abandon(code=code, person=person(request), key=key(request), reason=request.POST.get("reason", ""))
    return redirect("to_make")


def _reject_page(
    request: HttpRequest, code: str, refusal: Refusal | None = None, **where: object
) -> HttpResponse:
    screen = batches.reject_screen(
        bench.own(code, person(request)),
        refusal=_said(refusal),
        reason=request.POST.get("reason", "")[:300],
        chosen=request.POST.get("which", "")[:4],
    )
    return page(request, "technician/reject_unit.html", screen=screen)


@for_technician
@require_safe
def choose_unit(request: HttpRequest, code: str) -> HttpResponse:
    """Ask which unit of a batch is lost or spoiled, and why."""
    return _reject_page(request, code)


@for_technician
@require_POST
@refused_as(_reject_page)
def reject_unit(request: HttpRequest, code: str) -> HttpResponse:
    """Reject one unit of a batch; it goes on without it."""
    which = request.POST.get("which", "")
    run.reject_unit(
        code=code,
        person=person(request),
        key=key(request),
        unit=_unit(which),
        reason=request.POST.get("reason", ""),
    )
    return redirect("step", code)


@for_technician
@require_POST
@refused_as(_list_again)
def clear_hood(request: HttpRequest, code: str) -> HttpResponse:
    """Declare that everything is out of the hood."""
    run.clear_hood(code=code, person=person(request), key=key(request))
    return redirect("to_make")


@for_technician
@require_POST
@refused_as(_list_again)
def resume(request: HttpRequest, code: str) -> HttpResponse:
    """Take up paused work."""
    run.resume(code=code, person=person(request), key=key(request))
    return redirect("step", code)


@for_technician
@require_POST
@refused_as(_wrong_page)
def print_labels(request: HttpRequest, code: str) -> HttpResponse:
    """Make the labels, all or one unit's, and go to their page to print them."""
    which = request.POST.get("which", "")
    run.print_labels(
        code=code,
        person=person(request),
        key=key(request),
        reason=request.POST.get("reason", ""),
        unit=_unit(which) if which else None,
    )
    return redirect(f"{reverse('label', args=[code])}?unit={_unit(which) or ''}")


def _unit(which: str) -> int:
    return int(which) if which.isascii() and which.isdecimal() and len(which) < 5 else 0


def _door(request: HttpRequest, code: str) -> str:
    """Return the square that a checker's phone reads to be at the check."""
    return square(request.build_absolute_uri(reverse("find_code", args=[code])))


def _typed(request: HttpRequest, refusal: Refusal | None) -> str:
    """Return what was refused, to stay in its field; what was taken belongs to the step before."""
    given = request.POST.get("scan") or request.POST.get("volume") or request.POST.get("reason") or ""
    return given[:200] if refusal else ""


def _said(refusal: Refusal | None) -> str:
    return refusal.sentence if refusal else ""
