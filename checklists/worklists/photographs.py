"""Photographs of shown draws: on the tablet, on the checker's phone, in the record."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from django.urls import reverse
from django.utils.translation import gettext as _

from checklists.independence import readable, refusals_of
from checklists.method.step_kinds import KINDS, Takes
from checklists.models import Photograph, Preparation, Step, Unreadable
from checklists.refusals import OutOfOrder
from checklists.remains import Remains
from checklists.worklists.checker_screens import PhotographView
from checklists.worklists.identity import identity
from checklists.worklists.screens import Identity


@dataclass(frozen=True)
class CameraScreen:
    """The camera: which syringes are to be on the picture; never how much is in them."""

    identity: Identity
    items: tuple[str, ...]
    key: str
    act_url: str
    back_url: str
    refusal: str


def camera(preparation: Preparation, place: int, *, refusal: str = "") -> CameraScreen:
    """Return the camera for the showing that the work has come to."""
    step = preparation.steps.filter(finished_at=None).first()
    if step is None or step.place != place or KINDS[step.kind].takes is not Takes.SIGHTING:
        raise OutOfOrder()
    remains = Remains(preparation)
    return CameraScreen(
        identity=identity(preparation, remains.worksheet),
        items=tuple(_beside(remains, number) for number in step.about["draws"]),
        key=secrets.token_hex(16),
        act_url=reverse("camera", args=[preparation.code, place]),
        back_url=reverse("step", args=[preparation.code]),
        refusal=refusal,
    )


def _beside(remains: Remains, number: int) -> str:
    containers = _(" and ").join(one.container for one in remains.draw(number).sources)
    return _("Syringe %(number)d beside %(containers)s") % {"number": number, "containers": containers}


def at_the_hood(preparation: Preparation, step: Step) -> dict[str, str | int]:
    """Return what the waiting tablet says of photographs: how many there are, and what was asked for."""
    taken, asked = readable(step, preparation), refusals_of(step)
    wanted = "" if taken or not asked else asked[0].wants
    return {
        "camera_url": reverse("camera", args=[preparation.code, step.place]),
        "photographs": len(taken),
        "wanted": wanted,
        "wanted_by": asked[0].person.name if wanted else "",
        "is_in_person": "yes" if wanted == Unreadable.Wants.IN_PERSON else "",
    }


def of_showing(preparation: Preparation, step: Step, draw: int) -> tuple[PhotographView, ...]:
    """Return the photographs that show a syringe as it is filled now, the newest first."""
    return tuple(_view(preparation, one) for one in readable(step, preparation) if draw in one.draws)


def of_record(preparation: Preparation, may_see: Callable[[Photograph], bool]) -> tuple[PhotographView, ...]:
    """Return every photograph of a preparation, the oldest first; without an address where it is not for the
    reader.
    """
    kept: Iterable[Photograph] = preparation.photographs.select_related("taken_by", "step")
    views = ((_view(preparation, one), may_see(one)) for one in kept)
    return tuple(view if may else replace(view, url="") for view, may in views)


def _view(preparation: Preparation, one: Photograph) -> PhotographView:
    return PhotographView(
        number=one.pk,
        url=reverse("photograph", args=[preparation.code, one.pk]),
        syringes=", ".join(map(str, one.draws)),
        by=one.taken_by.name,
        at=one.at,
    )
