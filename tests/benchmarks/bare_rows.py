"""The floor that our acts are measured against: who is signed in, one durable insert, one small template."""

from __future__ import annotations

from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import path

TEXT = "x" * 600
PAGE = engines["django"].from_string("<html><body>{{ name }} wrote {{ number }}</body></html>")


def insert() -> None:
    """Write one row, safely on the disk."""
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("INSERT INTO bare_rows (text) VALUES (%s)", [TEXT])


def write(request: HttpRequest) -> HttpResponse:
    """Write one row for whoever is signed in, and say so."""
    name = request.user.name
    insert()
    return HttpResponse(PAGE.render({"name": name, "number": len(TEXT)}), status=200)


urlpatterns = [path("bare/", write)]
