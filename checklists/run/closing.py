"""Closing: a preparation that ends becomes a link of the site's chain, in the same transaction."""

from __future__ import annotations

from django.db import connection

from checklists.controlled import unaccounted
from checklists.method.chain import GENESIS, canonical, digest
from checklists.models import Closing, Preparation

ENDED = (Preparation.State.RELEASED, Preparation.State.DISCARDED, Preparation.State.ON_PAPER)
#: One preparation closes at a time, on PostgreSQL by this lock; SQLite has one writer anyway.
LOCK = 6_202_611


def close_if_ended(preparation: Preparation) -> None:
    """Add the link of a preparation that has ended, once. What is entered later follows its own chain.

    Waste of a controlled medicine is accounted for first.
    """
    if preparation.state not in ENDED or Closing.objects.filter(preparation=preparation).exists():
        return
    if any(unaccounted(preparation)):
        return
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOCK])
    last, final = Closing.objects.last(), preparation.entries.last()
    if final is None:
        return
    number, previous = (last.number + 1, last.digest) if last else (1, GENESIS)
    text = canonical(
        {
            "number": number,
            "preparation": preparation.code,
            "state": str(preparation.state),
            "entries": final.number,
            "last": final.digest,
        }
    )
    Closing.objects.create(
        number=number, preparation=preparation, text=text, previous=previous, digest=digest(previous, text)
    )
