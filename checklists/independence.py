"""Who made a preparation, and who has been shown its amounts: the two things a checker must not be."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime

from checklists.method.away import REFUSED, TWICE
from checklists.method.second_reading import is_second
from checklists.models import (
    Disclosure,
    Person,
    Photograph,
    Preparation,
    Reading,
    Sighting,
    Step,
    Unreadable,
)
from checklists.refusals import Disclosed, HasRead
from compounding.reckoning.quantities import Quantity, of

#: Acts by which somebody becomes a maker of a preparation.
MAKING = (
    "open",
    "resume",
    "finish",
    "draw",
    "unit done",
    REFUSED,
    TWICE,
)


def makers(preparation: Preparation) -> set[int]:
    """Return the people who made any part: who opened it, took it up, drew, or finished a maker's step."""
    acted = preparation.entries.filter(act__in=MAKING).values_list("person", flat=True)
    return {preparation.technician_id, *acted}


def is_maker(preparation: Preparation, person: Person) -> bool:
    """Say whether the person made any part of the preparation."""
    return person.pk in makers(preparation)


def has_seen(preparation: Preparation, draw: int, person: Person) -> bool:
    """Say whether the person has been shown the amounts of that draw, or has read it already."""
    return (
        preparation.disclosures.filter(draw=draw, person=person).exists()
        or preparation.readings.filter(draw=draw, sightings__person=person).exists()
    )


def why_not_blind(preparation: Preparation, draw: int, person: Person) -> Disclosed | None:
    """Return why somebody cannot read a draw blind: shown its amounts, or a reader of it already."""
    if preparation.disclosures.filter(draw=draw, person=person).exists():
        return Disclosed(name=person.name)
    return HasRead(name=person.name) if has_seen(preparation, draw, person) else None


def was_shown(preparation: Preparation, person: Person) -> bool:
    """Say whether the person was shown any amount of the preparation, and so cannot work them out apart."""
    return preparation.disclosures.filter(person=person).exists()


def disclose(preparation: Preparation, draws: Iterable[int], person: Person, at: datetime) -> None:
    """Keep that the person is being shown the amounts of those draws."""
    Disclosure.objects.bulk_create(
        (Disclosure(preparation=preparation, draw=draw, person=person, at=at) for draw in draws),
        ignore_conflicts=True,
    )


def latest_sightings(preparation: Preparation, step: Step) -> list[Sighting]:
    """Return what was read at the step off the syringes as they were drawn last."""
    last = {one.draw: one.pk for one in preparation.readings.order_by("attempt")}
    seen = step.sightings.select_related("reading").order_by("pk")
    return [one for one in seen if last[one.reading.draw] == one.reading_id]


def also_seen(reading: Reading, person: Person) -> list[Quantity]:
    """Return what other checkers saw of a filling, where that agreed."""
    others = reading.sightings.filter(agrees=True).exclude(person=person)
    return [of(one.volume_ml, "mL") for one in others]


def read_twice(preparation: Preparation) -> set[int]:
    """Return the draws that two pharmacists read, as the policy was at opening."""
    opened = preparation.entries.filter(act="open").first()
    steps = json.loads(opened.text)["facts"]["steps"] if opened else []
    return {draw for kind, about in steps if kind == "show" and "second" in about for draw in about["draws"]}


def waits_for_second(preparation: Preparation, step: Step) -> bool:
    """Say whether another pharmacist has still to read what was read at this step."""
    left = preparation.steps.filter(kind="show", finished_at=None).exclude(pk=step.pk)
    return any(is_second(one) and set(one.about["draws"]) & set(step.about["draws"]) for one in left)


def latest_attempts(preparation: Preparation) -> dict[int, int]:
    """Return the number of the last filling of every draw."""
    return {one.draw: one.attempt for one in preparation.readings.order_by("attempt")}


def readable(step: Step, preparation: Preparation) -> list[Photograph]:
    """Return the photographs of a showing that nobody found unreadable, of syringes as they are now; newest
    first.
    """
    now = latest_attempts(preparation)
    kept = step.photographs.filter(unreadable=None).select_related("taken_by").order_by("-pk")
    return [one for one in kept if all(now.get(d) == a for d, a in zip(one.draws, one.attempts, strict=True))]


def refusals_of(step: Step) -> list[Unreadable]:
    """Return what was asked for instead of photographs that could not be read; the newest first."""
    return list(Unreadable.objects.filter(photograph__step=step).select_related("person").order_by("-pk"))
