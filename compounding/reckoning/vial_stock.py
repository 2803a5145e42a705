"""What provisioning is told (sizes, lots, what stands open, needs) and what it answers, as plain facts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from compounding.reckoning.quantities import Quantity
from compounding.reckoning.worksheet import Line


class Sharing(StrEnum):
    """Who may have what is left in an opened container, within its in-use time.

    NOBODY: an ampoule. PATIENT: a single-dose container kept to one patient. ANYONE: a multiple-dose vial, or
    a single-dose container opened in ISO 5 air where policy shares it (USP <797> 2023: 12 h, memory).
    """

    NOBODY = "nobody"
    PATIENT = "patient"
    ANYONE = "anyone"


@dataclass(frozen=True)
class Size:
    """One size in stock: what can be drawn from one container, its price, and its in-use time.

    `is_kept`: what is left when the run is over stays in use (a multiple-dose vial), so it is not wasted.
    """

    code: str
    content: Quantity
    price: Decimal
    sharing: Sharing
    in_use: timedelta
    is_kept: bool = False


@dataclass(frozen=True)
class StockLot:
    """Unopened containers of one lot. `ends_at` is aware: the last moment it may be opened."""

    size: str
    lot: str
    ends_at: datetime
    count: int


@dataclass(frozen=True)
class OpenContainer:
    """A container already opened: what is left, until when it may be entered, for whom if bound."""

    name: str
    size: str
    left: Quantity
    ends_at: datetime
    patient: str = ""


@dataclass(frozen=True)
class Need:
    """What one preparation takes, for whom, and when it is drawn (aware)."""

    name: str
    patient: str
    at: datetime
    content: Quantity


@dataclass(frozen=True)
class Opening:
    """A container to open: its name in this plan (`1 g vial 2`), its lot, and for which preparation."""

    name: str
    size: str
    lot: str
    need: str


@dataclass(frozen=True)
class Taking:
    """One puncture: how much of which container goes to which preparation."""

    need: str
    container: str
    content: Quantity


@dataclass(frozen=True)
class Leftover:
    """What is wasted of a container, and what it cost."""

    container: str
    content: Quantity
    cost: Decimal


@dataclass(frozen=True)
class Provision:
    """The plan. `is_proved` says whether every other plan was ruled out; if not, a better one may exist."""

    openings: tuple[Opening, ...]
    takings: tuple[Taking, ...]
    wasted: tuple[Leftover, ...]
    cost: Decimal
    is_proved: bool
    lines: tuple[Line, ...]
