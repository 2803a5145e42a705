"""A batch on screens and papers: what was rejected, what is accounted for, and the yield."""

from __future__ import annotations

import secrets
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from checklists.counting import live_units
from checklists.method.batch import is_batch
from checklists.method.reconciling import Tally
from checklists.models import Preparation
from checklists.tallying import last_count, tally
from checklists.worklists.identity import identity
from checklists.worklists.screens import BatchView, Identity, RejectedView
from compounding.reckoning.quantities import of, write
from compounding.reckoning.worksheet import FinalContainer, Worksheet, from_plain


@dataclass(frozen=True)
class RejectScreen:
    """The choice of a unit to reject."""

    identity: Identity
    key: str
    units: tuple[int, ...]
    is_syringe: bool
    act_url: str
    refusal: str
    reason: str
    chosen: str


def batch_view(preparation: Preparation, worksheet: Worksheet) -> BatchView | None:
    """Return the batch as it stands; None for a single unit. It holds no amount of any syringe."""
    if not is_batch(worksheet):
        return None
    count = last_count(preparation)
    found = tally(
        preparation,
        worksheet,
        in_hand=count.in_hand if count else 0,
        destroyed=count.destroyed if count else 0,
    )
    return BatchView(
        counts=tuple(_counts(found, is_counted=count is not None)),
        rejected=tuple(
            RejectedView(one.unit, one.reason, one.person.name, one.at)
            for one in preparation.rejections.select_related("person")
        ),
        remaining=tuple((name, write(of(volume, "mL"), 2)) for name, volume in found.remaining),
        yielded=found.yield_percent if count else "",
        by=count.by if count else "",
        at=count.at if count else None,
    )


def _counts(found: Tally, is_counted: bool) -> list[tuple[str, str]]:
    """Return what is known; before the count, nothing that would spare it."""
    known = [(_("planned"), found.planned), (_("rejected"), found.rejected)]
    counted = [
        (_("drawn, and going on"), found.drawn),
        (_("labelled, and going on"), found.labelled),
        (_("handed over"), found.in_hand),
    ]
    labels = [(_("labels printed"), found.printed)]
    gone = [(_("labels destroyed"), found.destroyed)]
    told = (*known, *counted, *labels, *gone) if is_counted else (*known, *labels)
    return [(name, str(number)) for name, number in told]


def reject_screen(
    preparation: Preparation, *, refusal: str = "", reason: str = "", chosen: str = ""
) -> RejectScreen:
    """Return the choice of a unit to reject."""
    worksheet = from_plain(preparation.worksheet)
    live = live_units(preparation, worksheet) if is_batch(worksheet) else []
    return RejectScreen(
        identity=identity(preparation, worksheet),
        key=secrets.token_hex(16),
        units=tuple(live),
        is_syringe=worksheet.final_container is FinalContainer.SYRINGE,
        act_url=reverse("reject_unit", args=[preparation.code]),
        refusal=refusal,
        reason=reason,
        chosen=chosen,
    )
