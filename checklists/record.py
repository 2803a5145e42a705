"""Append one entry to a preparation's chain. Imported by `run` alone."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from django.utils import timezone

from checklists.method.chain import GENESIS, canonical, digest
from checklists.models import Entry, Person, Preparation
from checklists.refusals import ClockWentBack

#: A clock that is kept by the network may be set back so far; more is a wrong clock. Site habit, no source.
MAY_STEP_BACK = timedelta(seconds=5)


def append(
    preparation: Preparation, act: str, *, person: Person, at: datetime, key: str, facts: Mapping[str, object]
) -> Entry:
    """Write the entry of an act. The caller holds the preparation's row and an open transaction."""
    last = preparation.entries.order_by("-number").first()
    if last and at < last.at - MAY_STEP_BACK:
        raise ClockWentBack(last=f"{timezone.localtime(last.at):%d %b %Y %H:%M:%S}")
    number = last.number + 1 if last else 1
    previous = last.digest if last else GENESIS
    text = canonical(
        {
            "preparation": preparation.code,
            "number": number,
            "act": act,
            "person": person.name,
            "badge": person.badge,
            "role": person.role,
            "at": at.astimezone(UTC).isoformat(),
            "key": key,
            "facts": facts,
        }
    )
    preparation.version += 1
    preparation.save(update_fields=["version"])
    return Entry.objects.create(
        preparation=preparation,
        number=number,
        act=act,
        person=person,
        at=at,
        key=key,
        text=text,
        previous=previous,
        digest=digest(previous, text),
    )


def was_done(preparation: Preparation, key: str) -> bool:
    """Say whether the act of that key is in the record already."""
    return preparation.entries.filter(key=key).exists()
