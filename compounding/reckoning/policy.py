"""Local policy: the limits a pharmacy sets for itself, with defaults.

The defaults without a source named beside them are custom, not a standard (standards.md section 12).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import Quantity, of
from compounding.reckoning.worksheet import Syringe


def _stock() -> tuple[Syringe, ...]:
    """Return the usual sizes and their marks, in mL (common practice, standards.md section 5)."""
    sizes = (("1", "0.01"), ("3", "0.1"), ("5", "0.2"), ("10", "0.2"), ("20", "1"), ("30", "1"), ("60", "1"))
    return tuple(Syringe(of(size, "mL"), of(mark, "mL")) for size, mark in sizes)


DEFAULT_SYRINGES = _stock()


@dataclass(frozen=True)
class Policy:
    """The limits of one site. Percents are percents, hours are hours; `version` names the set in every
    record.
    """

    version: int = 1
    # admixing: additive above this share of the labelled volume -> withdraw first (most quoted threshold,
    # second-hand)
    withdraw_over_percent: Decimal = Decimal(10)
    # drawing: no published source; 20 and 80 percent fill and 75 percent for hazardous are published practice
    rounding_limit_percent: Decimal = Decimal(2)
    instrument_limit_percent: Decimal = Decimal(10)
    agreement_percent: Decimal = Decimal(5)
    least_fill_percent: Decimal = Decimal(20)
    hazardous_fill_percent: Decimal = Decimal(75)
    good_fill_percent: Decimal = Decimal(80)
    hazardous_air_percent: Decimal = Decimal(75)
    most_draws: int = 40
    half_marks_from: Quantity = of(1, "mL")
    syringes: tuple[Syringe, ...] = DEFAULT_SYRINGES
    # in-use times of opened containers (USP <797> 2023; from a secondary source)
    single_dose_hours: int = 12
    multi_dose_days: int = 28
    # whether a dissolved powder vial serves further preparations within its hours (our own, no source)
    shares_dissolved: bool = False
    # above it a central line is asked for (common practice)
    peripheral_limit: Quantity = of(900, "mOsmol/L")
    # how old a body weight may be before its use needs a reason (our own, no source)
    weight_days: int = 30
    # at the hood
    alcohol_dry_seconds: int = 30
    warm_up_minutes: int = 30
    surface_minutes: int = 30
    # outer gloves at hazardous work (USP <800>, memory); from the first draw to the last add, as an opened
    # single-dose container in ISO 5 before 2023 (USP <797> 2008, memory)
    glove_minutes: int = 30
    in_process_hours: int = 6
    # when a draw is declared by moving the drawn plunger only: "never", "high-alert" or "always" (our own)
    always_by_plunger: str = "never"
    # whether every draw is to be kept as a photograph, not only shown (our own, no source)
    wants_photograph: bool = False
    # for which medicines a second pharmacist reads each draw too: "never", "hazardous", "high-alert" or
    # "hazardous or high-alert" (independent double checks, common practice; ours to leave to the site)
    second_reader: str = "never"
    # hand hygiene and garb: washed for 30 s (USP <797> 2023, memory); rubbed until dry, 20 to 30 s (memory).
    # 0 hours: garbing is asked for each preparation; else a garbing stands so long, unless its wearer left
    hand_wash_seconds: int = 30
    hand_rub_seconds: int = 20
    garb_hours: int = 0
    # after hazardous work, how long each agent stays wet: as its label says (our defaults, no source)
    deactivate_seconds: int = 120
    decontaminate_seconds: int = 60
    clean_seconds: int = 30
    # whether supervisors are shown times by person, or by team only (our own, no source)
    shows_individuals: bool = False
