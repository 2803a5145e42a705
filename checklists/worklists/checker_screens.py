"""What the checker's screens are handed. Before commitment no field holds a required or a drawn amount."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from checklists.method.pictures import ScalePicture
from checklists.worklists.order_view import OrderView
from checklists.worklists.origins import OriginView
from checklists.worklists.screens import BatchView, Identity, UnitsView


@dataclass(frozen=True)
class WaitingRow:
    """One thing that waits for a pharmacist. `why_not` is said when this one may not take it."""

    identity: Identity
    what: str
    since: datetime
    due_at: datetime
    taken_by: str
    is_hold: bool
    url: str
    why_not: str


@dataclass(frozen=True)
class WaitingList:
    """Everything that waits, oldest first."""

    rows: tuple[WaitingRow, ...]
    poll_url: str
    etag: str


@dataclass(frozen=True)
class ProductFact:
    """What a drug comes as, from its label: content and strength, never a volume to draw."""

    name: str
    content: str
    strength: str
    diluent: str
    how: str


@dataclass(frozen=True)
class SeenContainer:
    """A container as it was scanned."""

    key: str
    name: str
    lot: str
    expires: str


@dataclass(frozen=True)
class Ask:
    """One amount to type: nothing is filled in but what this checker typed a moment ago."""

    field: str
    label: str
    typed: str
    fault: str


@dataclass(frozen=True)
class CautionAsk:
    """What is allowed only with a reason, and the reason: empty but for what was typed a moment ago."""

    field: str
    text: str
    typed: str
    fault: str


@dataclass(frozen=True)
class CheckFrame:
    """What every check has: which preparation, which step, since when it waits."""

    identity: Identity
    number: str
    place: int
    what: str
    since: datetime
    key: str
    act_url: str
    refuse_url: str
    refusal: str


@dataclass(frozen=True)
class FirstCheckScreen:
    """The first check: the order, the products' facts, the materials, a field a transfer and a caution."""

    frame: CheckFrame
    order: OrderView
    method: str
    products: tuple[ProductFact, ...]
    containers: tuple[SeenContainer, ...]
    asks: tuple[Ask, ...]
    cautions: tuple[CautionAsk, ...]
    has_seen_materials: bool


@dataclass(frozen=True)
class PhotographView:
    """A photograph of syringes that are shown: where it lies, which they are, who took it."""

    number: int
    url: str
    syringes: str
    by: str
    at: datetime


@dataclass(frozen=True)
class SightScreen:
    """One syringe to read: an empty keypad, under the photographs there are of it.

    `units` tells which are read, and never an amount of them.
    """

    frame: CheckFrame
    order: OrderView
    containers: tuple[SeenContainer, ...]
    draw: int
    syringe: str
    beside: str
    of_what: str
    number: int
    of: int
    typed: str
    reason: str
    units: UnitsView | None
    cannot_read_url: str
    photographs: tuple[PhotographView, ...]
    unreadable_url: str


@dataclass(frozen=True)
class OtherSeen:
    """What another checker read off the same filling before, where two have to read it."""

    name: str
    seen: str


@dataclass(frozen=True)
class AmountRow:
    """The three amounts of one draw, after commitment. `number` is the one its syringe goes by."""

    draw: int
    number: int
    of_what: str
    required: str
    drawn: str
    seen: str
    seen_by: str
    others: tuple[OtherSeen, ...]
    agrees: bool
    odd_one: str
    difference: str
    scale: ScalePicture


@dataclass(frozen=True)
class Answer:
    """What the checker is told after a first check or a release: in words, without a number.

    Also after a reading that another pharmacist has still to take: `waits_for_second`.
    """

    identity: Identity
    kind: str
    waits_for_second: bool
    agrees: bool
    hold_url: str
    at: datetime


@dataclass(frozen=True)
class ComparedScreen:
    """The amounts side by side, after commitment."""

    identity: Identity
    rows: tuple[AmountRow, ...]
    agrees: bool
    hold_url: str


@dataclass(frozen=True)
class FinalCheckScreen:
    """The final check: the order, the label's text, the containers, the amounts that agreed."""

    frame: CheckFrame
    order: OrderView
    label: tuple[str, ...]
    containers: tuple[SeenContainer, ...]
    origins: tuple[OriginView, ...]
    rows: tuple[AmountRow, ...]
    beyond_use_at: datetime
    batch: BatchView | None
    units: tuple[int, ...]
    reject_url: str


@dataclass(frozen=True)
class ReleaseScreen:
    """The release: every reason why not, or the signature and what it means."""

    frame: CheckFrame
    order: OrderView
    reasons: tuple[str, ...]
    meaning: str
    beyond_use_at: datetime


@dataclass(frozen=True)
class Way:
    """One way to resolve a hold."""

    value: str
    label: str
    what_happens: str


@dataclass(frozen=True)
class HoldScreen:
    """A hold: why, and once it was opened with its amounts, these and the ways out."""

    identity: Identity
    order: OrderView
    number: int
    cause: str
    note: str
    opened_by: str
    opened_at: datetime
    is_open: bool
    rows: tuple[AmountRow, ...]
    recalculated: tuple[str, ...]
    ways: tuple[Way, ...]
    key: str
    see_url: str
    resolve_url: str
    refusal: str
    reason: str
