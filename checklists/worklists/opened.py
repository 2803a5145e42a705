"""Opened containers: which may still be used, until when, how much is left, and what belongs to the waste."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet
from django.utils import timezone

from checklists.dissolved import serves_again
from checklists.models import OpenedContainer, Preparation
from compounding.formulary import codes
from compounding.formulary.policy import current_policy
from compounding.reckoning.quantities import of, write
from compounding.reckoning.worksheet import from_plain

ENDED = (Preparation.State.RELEASED, Preparation.State.DISCARDED, Preparation.State.ON_PAPER)


@dataclass(frozen=True)
class OpenedRow:
    """One opened container; `left` is empty while it lies at somebody's work."""

    code: str
    url_code: str
    product: str
    strength: str
    lot: str
    serial: str
    hood: str
    opened_at: datetime
    opened_by: str
    use_ends_at: datetime
    left: str
    is_over: bool


@dataclass(frozen=True)
class OpenedScreen:
    """Every opened container that nobody has put to the waste, the first to end first."""

    rows: tuple[OpenedRow, ...]
    key: str


def opened_screen() -> OpenedScreen:
    """Return what stands open."""
    return OpenedScreen(rows_of(OpenedContainer.objects.filter(discarded_at=None)), secrets.token_hex(16))


def kept_of(preparation: Preparation) -> tuple[OpenedRow, ...]:
    """Return the containers of a preparation that may serve again once it is done."""
    its = Q(opened_for=preparation) | Q(taken_again__preparation=preparation)
    held = OpenedContainer.objects.filter(its, discarded_at=None, left_ml__gt=0)
    worksheet, policy = from_plain(preparation.worksheet), current_policy()
    found = held.select_related("lot__product").distinct()
    again = [one.pk for one in found if serves_again(one, worksheet, policy)]
    return rows_of(OpenedContainer.objects.filter(pk__in=again))


def rows_of(found: QuerySet[OpenedContainer]) -> tuple[OpenedRow, ...]:
    """Return containers as they are shown."""
    now = timezone.now()
    seen = found.select_related("lot__product", "hood", "opened_by", "opened_for")
    return tuple(_row(one, now) for one in seen.prefetch_related("taken_again__preparation"))


def _is_at_work(container: OpenedContainer) -> bool:
    """Say whether work that holds it is not done: what is left would tell what was drawn, read blind yet."""
    works = [container.opened_for, *(one.preparation for one in container.taken_again.all())]
    return any(work.state not in ENDED for work in works)


def _row(container: OpenedContainer, now: datetime) -> OpenedRow:
    product = container.lot.product
    return OpenedRow(
        code=codes.grouped(container.code),
        url_code=container.code,
        product=product.name,
        strength=product.strength or product.reconstitution_strength,
        lot=container.lot.number,
        serial=container.serial,
        hood=container.hood.name if container.hood else "",
        opened_at=container.opened_at,
        opened_by=container.opened_by.name,
        use_ends_at=container.use_ends_at,
        left="" if _is_at_work(container) else write(of(container.left_ml, "mL")),
        is_over=now >= container.use_ends_at,
    )
