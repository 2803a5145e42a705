"""What each screen is handed: one frozen dataclass a screen, words and amounts already written.

Blindness is by type: nothing handed to the checker before commitment has a field for the required
or the drawn amount. A test compares each screen's context with its dataclass exactly.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from checklists.method.pictures import HoodPicture, StepPicture, SyringePicture
from checklists.worklists.opened import OpenedRow
from checklists.worklists.order_view import OrderView
from checklists.worklists.running import ClockView


@dataclass(frozen=True)
class SpineMark:
    """One graduation of the spine: a step; `label` is set where a stage begins."""

    label: str
    is_done: bool
    is_now: bool


@dataclass(frozen=True)
class Identity:
    """What is being made, for whom: the same place on every screen of a preparation."""

    code: str
    url_code: str
    title: str
    vehicle: str
    for_whom: str


@dataclass(frozen=True)
class PortionView:
    """How much of a draw comes from one container."""

    container: str
    amount: str


@dataclass(frozen=True)
class DrawView:
    """A draw as the technician sees it while drawing. Never handed to a screen in the checker's sight."""

    number: int
    of: int
    place: str
    of_what: str
    amount: str
    number_only: str
    syringe: str
    air: str
    is_hazardous: bool
    portions: tuple[PortionView, ...]
    picture: SyringePicture
    moving: SyringePicture
    size: str
    moves_by: str
    is_by_plunger: bool


@dataclass(frozen=True)
class ContainerView:
    """A container to scan: what is wanted, and which lots may be used."""

    key: str
    kind: str
    name: str
    gtin: str
    lots: tuple[str, ...]
    number: int
    of: int


@dataclass(frozen=True)
class DwellView:
    """A step that must last: how long in all, how long still by the server's clock; why it may end sooner."""

    seconds: int
    left: int
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True)
class WaitingView:
    """What the tablet says while somebody else has to act."""

    for_what: str
    since: datetime
    taken_by: str
    whom_to_call: tuple[str, ...]
    items: tuple[str, ...]
    poll_url: str


@dataclass(frozen=True)
class HoldView:
    """A hold as the tablet shows it: why the work stopped, never an amount."""

    reason: str
    note: str
    since: datetime
    opened_by: str


@dataclass(frozen=True)
class WorkingLine:
    """One line of the worksheet's working and what it is about."""

    about: str
    text: str


@dataclass(frozen=True)
class PlaceView:
    """One numbered place. `state`: `done`, `now`, `left`, `lost`; a syringe lies in it, or a bag."""

    number: int
    state: str
    words: str


@dataclass(frozen=True)
class UnitsView:
    """A counted step at one unit: its number of how many, and every numbered place. No amount is in it."""

    number: int
    of: int
    done: int
    is_syringe: bool
    places: tuple[PlaceView, ...]


@dataclass(frozen=True)
class RejectedView:
    """A unit that was rejected, and why."""

    unit: int
    reason: str
    by: str
    at: datetime


@dataclass(frozen=True)
class BatchView:
    """A batch as it stands: counts in the order they are read, the rejected units, the yield once counted."""

    counts: tuple[tuple[str, str], ...]
    rejected: tuple[RejectedView, ...]
    remaining: tuple[tuple[str, str], ...]
    yielded: str
    by: str
    at: datetime | None


@dataclass(frozen=True)
class AwayView:
    """How a step stands without a network: `goes` is `on`, `over` (once its time has passed) or `waits`.

    `elsewhere`: another device has the step open `now`, or had it `before` this one.
    """

    goes: str
    why: str
    name: str
    place: int
    plan: str
    steps_url: str
    kept_url: str
    good_until: datetime | None
    elsewhere: str
    elsewhere_since: datetime | None


@dataclass(frozen=True)
class StepScreen:
    """One step on the tablet: identity, instruction, object, action."""

    identity: Identity
    kind: str
    stage: str
    stage_label: str
    number: int
    count: int
    spine: tuple[SpineMark, ...]
    key: str
    finish_url: str
    wrong_url: str
    is_in_hood: bool
    leave_url: str = ""
    are_hands_out: bool = False
    done_card: str = ""
    clocks: tuple[ClockView, ...] = ()
    over: tuple[str, ...] = ()
    because: str = ""
    state: str = ""
    technician: str = ""
    etag: str = ""
    draw: DrawView | None = None
    units: UnitsView | None = None
    container: ContainerView | None = None
    dwell: DwellView | None = None
    waiting: WaitingView | None = None
    hold: HoldView | None = None
    hood: HoodPicture | None = None
    picture: StepPicture | None = None
    hood_name: str = ""
    order: OrderView | None = None
    working: tuple[WorkingLine, ...] = ()
    cautions: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    kept: tuple[OpenedRow, ...] = ()
    about: dict[str, str | int] = field(default_factory=dict)
    refusal: str = ""
    typed: str = ""
    wants_reason: bool = False
    reject_url: str = ""
    units_live: tuple[int, ...] = ()
    batch: BatchView | None = None
    away: AwayView | None = None
    is_ahead: bool = False
