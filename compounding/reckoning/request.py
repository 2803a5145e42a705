"""What is asked of the arithmetic: one order or one batch, with everything reviewed that it needs.

Rows of the formulary become these; nothing else reaches `reckon`. Amounts are positive and already read.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum

from compounding.reckoning.dating import DatingFacts
from compounding.reckoning.incompatibility import PairTable
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import Quantity, of
from compounding.reckoning.worksheet import ContainerKind, FinalContainer

NOTHING = of(0, "mL")


class Method(StrEnum):
    """How additive and diluent come together (four ways in print, and local policy picking one of the
    first two).
    """

    POLICY = "policy"
    ADD_ONLY = "add only"
    WITHDRAW_EQUAL = "withdraw equal"
    WITHDRAW_ADDITIVE_AND_OVERFILL = "withdraw additive and overfill"
    FILL_TO_VOLUME = "fill to volume"


@dataclass(frozen=True)
class Reconstitution:
    """How a powder becomes a solution, as its label prints it: add `volume`, get `strength`.

    `solution` is what the diluent is without its container (`sodium chloride 0.9 %`); if empty, its name.
    """

    diluent_product: str
    diluent_name: str
    diluent_container: ContainerKind
    diluent_volume_in_container: Quantity
    volume: Quantity
    strength: Quantity
    how: str
    seconds: int
    solution: str = ""

    @property
    def contents(self) -> str:
        """Return what the diluent is, as tables of diluents name it."""
        return self.solution or self.diluent_name


@dataclass(frozen=True)
class SourceProduct:
    """What a drug is drawn from. `content` and `withdrawable` are per container.

    `strength` is as drawn (for a powder the label's strength after reconstitution); `osmolarity` is the
    figure that the label prints for that solution.
    """

    code: str
    name: str
    container: ContainerKind
    content: Quantity
    volume: Quantity | None
    strength: Quantity
    withdrawable: Quantity
    reconstitution: Reconstitution | None = None
    multi_dose: bool = False
    osmolarity: Quantity | None = None


@dataclass(frozen=True)
class OrderedIngredient:
    """One active ingredient of the order. Dose limits are absolute; concentration limits are of the finished
    unit.

    Hard limits stop: `least` to `most`, the concentrations, `most_rate` (10 mEq/h, 4 mg/min, 5 mcg/kg/min)
    and `diluents` (solutions or products that it may be mixed in; empty: any). Outside what is `usual_…` (a
    dose as ordered, a concentration) a pharmacist gives a reason. `instrument_limit_percent` is the
    formulation's own limit of the expected error (stricter than policy's).
    """

    substance: str
    written: str
    dose: Quantity
    product: SourceProduct
    hazardous: bool = False
    high_alert: bool = False
    protect_from_light: bool = False
    least: Quantity | None = None
    most: Quantity | None = None
    least_concentration: Quantity | None = None
    most_concentration: Quantity | None = None
    instrument_limit_percent: Decimal | None = None
    most_rate: Quantity | None = None
    diluents: tuple[str, ...] = ()
    usual_least: Quantity | None = None
    usual_most: Quantity | None = None
    usual_least_concentration: Quantity | None = None
    usual_most_concentration: Quantity | None = None


@dataclass(frozen=True)
class Vehicle:
    """The diluent: a bag that is added to, or (fill to volume) the containers that the rest is drawn from.

    `capacity` is the most the bag holds; `overfill` is what is in it above the labelled `volume`. `solution`
    is what is in it (`sodium chloride 0.9 %`; if empty, its name), `osmolarity` what its label prints.
    """

    product: str
    name: str
    volume: Quantity
    overfill: Quantity
    capacity: Quantity
    kind: ContainerKind = ContainerKind.BAG
    solution: str = ""
    osmolarity: Quantity | None = None

    @property
    def contents(self) -> str:
        """Return what is in it, as tables of diluents name it."""
        return self.solution or self.name


@dataclass(frozen=True, kw_only=True)
class Request:
    """One order, or one batch of `units` alike. `started_at` is aware; `mixing` says how the unit is mixed.

    For FILL_TO_VOLUME `final_volume` is needed; an empty bag is named by `empty_product` and `empty_name` and
    holds at most `empty_capacity`. `run_minutes` is over how long one unit is given, `peripheral` whether
    into a small vein; `weighed_days` how many days old the body weight is; `pairs` the reviewed table of what
    must not meet (none: nothing is looked up).
    """

    formulation: str
    formulation_version: int
    title: str
    final_container: FinalContainer
    units: int
    ingredients: tuple[OrderedIngredient, ...]
    vehicle: Vehicle | None
    method: Method | str
    dating: DatingFacts
    storage: str
    mixing: str
    started_at: datetime
    policy: Policy
    program_version: str
    final_volume: Quantity | None = None
    body_weight: Quantity | None = None
    height: Quantity | None = None
    empty_product: str = ""
    empty_name: str = "empty bag"
    empty_capacity: Quantity | None = None
    run_minutes: int | None = None
    peripheral: bool = False
    weighed_days: int | None = None
    pairs: PairTable | None = None
