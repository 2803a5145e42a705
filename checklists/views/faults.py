"""What somebody is shown when the program itself could not answer: a fault, or a store that takes nothing."""

from __future__ import annotations

import sys

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from checklists.views.shared import for_anybody

#: What the stores say (SQLite's error names, PostgreSQL's SQLSTATE), and what it is in words.
STORE_SAYS = {
    "SQLITE_FULL": "the disk of the server is full.",
    "53100": "the disk of the server is full.",
    "SQLITE_READONLY": "the store is set to be read only.",
    "25006": "the store is set to be read only.",
    "SQLITE_IOERR": "the disk of the server does not answer.",
    "SQLITE_CANTOPEN": "the store cannot be opened.",
    "57P03": "the store is starting or stopping.",
}


@for_anybody
def fault(request: HttpRequest) -> HttpResponse:
    """Answer a fault: 503 in words when nothing can be saved, else 500."""
    why = _why(sys.exc_info()[1])
    if why:
        return HttpResponse(render_to_string("503.html", {"why": why}), status=503)
    return HttpResponse(render_to_string("500.html"), status=500)


def _why(trouble: BaseException | None) -> str:
    if not isinstance(trouble, DatabaseError):
        return ""
    cause = trouble.__cause__
    said = str(getattr(cause, "sqlite_errorname", "") or getattr(cause, "sqlstate", "") or "")
    return next((words for name, words in STORE_SAYS.items() if said.startswith(name)), "")
