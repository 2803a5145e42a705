"""The program as an installed one: its manifest, its service worker, and the page a device opens alone."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from checklists.views.shared import for_anybody, page, person
from checklists.worklists import installed


@for_anybody
@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """Give the manifest; its shortcuts are those of whoever is signed in."""
    role = person(request).role if request.user.is_authenticated else ""
    return JsonResponse(installed.manifest(role), content_type="application/manifest+json")


@for_anybody
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """Give the service worker, from the root because it may serve nothing above itself."""
    response = render(request, "worker.js", installed.worker(), content_type="text/javascript")
    response["Cache-Control"] = "no-cache"
    return response


@for_anybody
@require_safe
def away(request: HttpRequest) -> HttpResponse:
    """Give the page that a device keeps for want of a network: the same for everybody."""
    return page(request, "away.html")


@for_anybody
@require_safe
def install(request: HttpRequest) -> HttpResponse:
    """Explain how a device comes by https, and how the program is put on its home screen."""
    return page(request, "install.html", authority=installed.authority())


@for_anybody
@require_safe
def authority(request: HttpRequest) -> HttpResponse:
    """Give the local authority's certificate, for a device to install."""
    made = installed.authority()
    if made is None:
        raise Http404
    response = HttpResponse(made.certificate, content_type="application/x-x509-ca-cert")
    response["Content-Disposition"] = 'attachment; filename="counterdraw-authority.crt"'
    return response
