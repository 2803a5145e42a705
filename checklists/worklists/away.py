"""What a step's screen says about going on without a network."""

from __future__ import annotations

from datetime import datetime

from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from checklists.method.away import away_of
from checklists.method.step_kinds import Actor, Takes, row_of
from checklists.models import Preparation, Step
from checklists.worklists.screens import AwayView
from checklists.worklists.words import STEP_NAMES

#: Why a step waits, in a sentence.
WHY = {
    Takes.PRINT: _("This waits for the network: the program prints the label."),
    Takes.SCAN_CONTAINER: _("This waits for the network: the program looks up what is scanned."),
    Takes.SCAN_HOOD: _("This waits for the network: the program looks up what is scanned."),
    Takes.SCAN_LABEL: _("This waits for the network: the program looks up what is scanned."),
    Takes.READING: _("This waits for the network: what is drawn is declared to the program at once."),
    Takes.COUNTS: _("This waits for the network: the program counts the batch."),
    Takes.WITNESS: _("This waits for the network: a witness signs what is wasted."),
    Takes.DWELL: _("This waits for the network: its time runs by the program’s clock."),
}
OF_A_CHECK = _("This waits for the network: a pharmacist acts.")
OF_A_COUNT = _("This waits for the network: each unit is counted by the program.")


def why(step: Step) -> str:
    """Return why the step waits without a network; empty where it goes on."""
    kind = row_of(step)
    if kind.actor is Actor.CHECKER:
        return str(OF_A_CHECK)
    return str(OF_A_COUNT if kind.is_counted else WHY.get(kind.takes, ""))


def away_view(
    preparation: Preparation, steps: list[Step], step: Step, until: datetime | None, device: str
) -> AwayView:
    """Return how the step stands without a network, and where its device asks and sends."""
    code, hood = preparation.code, preparation.hood_id or 0
    return AwayView(
        goes=away_of(step).value,
        why=why(step),
        name=str(STEP_NAMES[step.kind]),
        place=step.place,
        plan=f"{len(steps)}-{max(one.pk for one in steps)}-{hood}",
        steps_url=reverse("steps_ahead", args=[code]),
        kept_url=reverse("keep_step", args=[code, 0]).removesuffix("0/"),
        good_until=until,
        elsewhere=_elsewhere(preparation, device),
        elsewhere_since=preparation.open_since,
    )


def _elsewhere(preparation: Preparation, device: str) -> str:
    """Say that another device has the step open, or had it until this one did; empty where none has."""
    if not device or not preparation.open_on:
        return ""
    if preparation.open_on != device:
        return "now"
    return "before" if preparation.open_before_on else ""
