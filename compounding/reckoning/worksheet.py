"""The worksheet: all of the arithmetic of one order or batch, frozen.

Plain data only. `reckon.reckon` builds it, `proof.prove` proves it, and nothing recomputes it for
display: what was shown is what was stored. `to_plain` and `from_plain` go to JSON and back without loss.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any

from cattrs import Converter

from compounding.reckoning.quantities import Quantity, number_in, restore, store
from compounding.reckoning.refusals import WithoutProof


class ContainerKind(StrEnum):
    """What a product comes in; it decides how it is entered.

    A prefilled syringe is not pierced: its tip joins another syringe's by a connector, and no air goes in.
    """

    SOLUTION_VIAL = "solution-vial"
    POWDER_VIAL = "powder-vial"
    AMPOULE = "ampoule"
    BAG = "bag"
    PREFILLED_SYRINGE = "prefilled-syringe"


class FinalContainer(StrEnum):
    """What the finished preparation is in."""

    BAG = "bag"
    SYRINGE = "syringe"
    EMPTY_BAG = "empty-bag"


class Purpose(StrEnum):
    """Why a volume is measured."""

    RECONSTITUTE = "reconstitute"
    WITHDRAW = "withdraw"
    DRUG = "drug"
    FILL = "fill"


@dataclass(frozen=True)
class Line:
    """One line of working, as a pharmacist would write it: `1,250 mg ÷ 50 mg/mL = 25 mL`."""

    about: str
    text: str


@dataclass(frozen=True)
class Syringe:
    """A size of syringe in local stock. `mark` is the interval between its graduations."""

    size: Quantity
    mark: Quantity


@dataclass(frozen=True)
class ErrorBudget:
    """How far a drawn volume may be off, each part in percent of the volume."""

    rounding: Decimal
    instrument: Decimal
    strength: Decimal
    worst: Decimal
    expected: Decimal


@dataclass(frozen=True)
class Container:
    """One container to gather. `key` names it on every screen and in the record (`vial 1`, `bag`).

    `role`: `drug`, `diluent` (for a powder), `fill` (to fill up with) or `bag` (the unit itself).
    """

    key: str
    kind: ContainerKind
    product: str
    name: str
    role: str
    ingredient: int | None
    volume: Quantity | None


@dataclass(frozen=True)
class Portion:
    """How much of a draw comes from one container."""

    container: str
    volume: Quantity


@dataclass(frozen=True)
class Draw:
    """One filled syringe: the smallest thing that is drawn, shown and added.

    `required` is the unrounded volume, `target` the same at a mark; `air` is all that goes in
    first, each container getting its share of it.
    """

    number: int
    transfer: int
    turn: int
    required: Quantity
    target: Quantity
    syringe: Syringe
    sources: tuple[Portion, ...]
    destination: str
    air: Quantity
    error: ErrorBudget

    def air_into(self, portion: Portion) -> Quantity:
        """Return the part of the air that goes into one container: its share of what is drawn."""
        share: Quantity = self.air * number_in(portion.volume, "mL") / number_in(self.target, "mL")
        return share


@dataclass(frozen=True)
class Transfer:
    """One measured amount of the method, done `times` times alike; each time takes one or more draws.

    `required` is the unrounded volume of one time.
    """

    number: int
    purpose: Purpose
    ingredient: int | None
    of_what: str
    required: Quantity
    times: int
    draws: tuple[Draw, ...]


@dataclass(frozen=True)
class WorksheetIngredient:
    """One active ingredient: what the order requires in each unit, and where it comes from."""

    substance: str
    written: str
    dose: Quantity
    strength: Quantity
    volume: Quantity
    product: str
    container: ContainerKind
    hazardous: bool
    high_alert: bool
    protect_from_light: bool
    how_to_dissolve: str
    dissolve_seconds: int
    concentration: Quantity
    true_concentration: Quantity


@dataclass(frozen=True)
class DateLimit:
    """One candidate for the beyond-use date: hours from the start, or a fixed end (ISO 8601 UTC)."""

    what: str
    source: str
    ends_at: str
    binding: bool


@dataclass(frozen=True)
class Caution:
    """What is allowed, but only with a pharmacist's recorded reason. `code` is unique within a worksheet.

    `text` speaks of dose, rate and limit, never of a volume or of a concentration that was found: whoever
    works the volumes out anew reads it first.
    """

    code: str
    text: str


@dataclass(frozen=True)
class Supply:
    """Something to gather that is not scanned: syringes, needles, wipes."""

    name: str
    count: int


@dataclass(frozen=True)
class Worksheet:
    """All of the arithmetic of one order or batch.

    `warnings` need no reason, each of the `cautions` does.
    """

    formulation: str
    formulation_version: int
    title: str
    final_container: FinalContainer
    units: int
    method: str
    diluent: str
    diluent_volume: Quantity
    final_volume: Quantity
    true_volume: Quantity
    ingredients: tuple[WorksheetIngredient, ...]
    containers: tuple[Container, ...]
    transfers: tuple[Transfer, ...]
    supplies: tuple[Supply, ...]
    hazardous: bool
    protect_from_light: bool
    storage: str
    mixing: str
    started_at: str
    beyond_use_at: str
    limits: tuple[DateLimit, ...]
    working: tuple[Line, ...]
    warnings: tuple[str, ...]
    proof: tuple[Line, ...]
    policy_version: int
    program_version: str
    cautions: tuple[Caution, ...] = ()

    @property
    def draws(self) -> tuple[Draw, ...]:
        """Return every draw in the order of the work."""
        return tuple(draw for transfer in self.transfers for draw in transfer.draws)

    def draw(self, number: int) -> Draw:
        """Return the draw of that number."""
        return next(draw for draw in self.draws if draw.number == number)

    def transfer_of(self, number: int) -> Transfer:
        """Return the transfer that holds the draw of that number."""
        return next(t for t in self.transfers if any(d.number == number for d in t.draws))

    def container(self, key: str) -> Container:
        """Return the container named `key`."""
        return next(container for container in self.containers if container.key == key)

    def __post_init__(self) -> None:
        """Refuse a worksheet without a proof: none can be built."""
        if not self.proof:
            raise WithoutProof(title=self.title)


def _converter() -> Converter:
    """Return what carries worksheets to JSON and back: amounts and decimals as text, tuples as lists."""
    carrier = Converter(unstruct_collection_overrides={tuple: list}, forbid_extra_keys=True)
    carrier.register_unstructure_hook(Quantity, store)
    carrier.register_structure_hook(Quantity, lambda text, _: restore(text))
    carrier.register_unstructure_hook(Decimal, lambda number: format(number, "f"))
    carrier.register_structure_hook(Decimal, lambda text, _: Decimal(text))
    carrier.register_unstructure_hook(datetime, datetime.isoformat)
    carrier.register_unstructure_hook(StrEnum, lambda word: word.value)
    return carrier


_CARRIER = _converter()


def plain_of(facts: object) -> Any:
    """Return dataclasses, amounts and decimals as plain data that JSON carries without loss."""
    return _CARRIER.unstructure(facts)


def to_plain(worksheet: Worksheet) -> dict[str, Any]:
    """Return a worksheet as plain data: dictionaries, lists, text, whole numbers, true and false."""
    plain: dict[str, Any] = _CARRIER.unstructure(worksheet)
    return plain


def from_plain(plain: dict[str, Any]) -> Worksheet:
    """Return the worksheet that `to_plain` wrote, equal to the one that was stored."""
    return _CARRIER.structure(plain, Worksheet)
