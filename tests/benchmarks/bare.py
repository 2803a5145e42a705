"""The floor that steps are measured against: a bare view on the same server and database.

Authenticated, one durable insert, one template; everything that the middleware does to any request.
"""

from __future__ import annotations

from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone

from checklists.models import SecurityEvent
from checklists.site import urls


@login_required
def bare_insert(request: HttpRequest) -> HttpResponse:
    with transaction.atomic(durable=True):
        SecurityEvent.objects.create(at=timezone.now(), what="bare", about=request.POST.get("about", ""))
    return render(request, "refused.html", {"skeleton": "base.html", "sentence": "done", "back_url": "/"})


@login_required
def bare_nothing_new(request: HttpRequest) -> HttpResponse:
    return HttpResponse(status=304)


handler500 = urls.handler500
urlpatterns = [
    path("bare/insert/", bare_insert),
    path("bare/304/", bare_nothing_new),
    *urls.urlpatterns,
]
