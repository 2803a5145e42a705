"""Syringes: what each size may hold, where its marks are and how far it may be off.

Tolerances: ISO 7886-1 Table 1 (rows of 1 mL and 10 mL seen in print, the others from memory; standards.md
section 5). Fill of 20 to 80 percent, at most 75 percent for a hazardous drug: published practice
(standards.md sections 2 and 5). All volumes here are in mL.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import number_in, round_half_up
from compounding.reckoning.worksheet import ErrorBudget, Syringe

_HUNDRED = Decimal(100)
_HUNDREDTH = Decimal("0.01")
_SMALL = Decimal(5)


@dataclass(frozen=True)
class Size:
    """A syringe of stock in plain numbers: top mark, interval of marks, step to draw to, fill limits."""

    syringe: Syringe
    top: Decimal
    mark: Decimal
    step: Decimal
    least: Decimal
    most: Decimal
    good: Decimal

    def nearest_mark(self, volume: Decimal) -> Decimal:
        """Return the volume at the nearest mark (or half mark where policy allows), half up."""
        return round_half_up(volume, self.step)

    def mark_below(self, volume: Decimal) -> Decimal:
        """Return the volume at the whole mark at or below."""
        return (volume / self.mark).quantize(Decimal(1), rounding=ROUND_FLOOR) * self.mark

    def may_hold(self, volume: Decimal) -> bool:
        """Tell whether a volume is within the fill limits; nothing is no fill, whatever the least is."""
        return bool(volume) and self.least <= volume <= self.most


def size_of(syringe: Syringe, policy: Policy, hazardous: bool) -> Size:
    """Return one size as policy lets it be used."""
    top, mark = number_in(syringe.size, "mL"), number_in(syringe.mark, "mL")
    half = mark >= number_in(policy.half_marks_from, "mL")
    most = policy.hazardous_fill_percent if hazardous else _HUNDRED
    return Size(
        syringe=syringe,
        top=top,
        mark=mark,
        step=mark / 2 if half else mark,
        least=top * policy.least_fill_percent / _HUNDRED,
        most=top * most / _HUNDRED,
        good=top * policy.good_fill_percent / _HUNDRED,
    )


def sizes_in_stock(policy: Policy, hazardous: bool) -> tuple[Size, ...]:
    """Return every size of local stock, smallest first."""
    sizes = (size_of(syringe, policy, hazardous) for syringe in policy.syringes)
    return tuple(sorted(sizes, key=lambda size: size.top))


def tolerance(top: Decimal, volume: Decimal) -> Decimal:
    """Return how far a syringe of nominal `top` may be off giving `volume`, in mL (ISO 7886-1 Table 1)."""
    small = top < _SMALL
    if 2 * volume >= top:
        return volume * (Decimal(5) if small else Decimal(4)) / _HUNDRED
    return (top * Decimal("1.5") + volume * (Decimal(2) if small else Decimal(1))) / _HUNDRED


def budget(top: Decimal, required: Decimal, target: Decimal, strength: Decimal) -> ErrorBudget:
    """Return how far a draw may be off, in percent, unrounded; worst is the sum, expected the
    root-sum-square.

    `strength` is the percent by which the stated strength itself is rounded.
    """
    rounding = abs(target - required) / required * _HUNDRED
    instrument = tolerance(top, target) / target * _HUNDRED
    return ErrorBudget(
        rounding=rounding,
        instrument=instrument,
        strength=strength,
        worst=rounding + instrument + strength,
        expected=(rounding**2 + instrument**2 + strength**2).sqrt(),
    )


def rounded(error: ErrorBudget) -> ErrorBudget:
    """Return an error budget as it is stored: each part half up to 0.01 percent."""
    return ErrorBudget(
        rounding=round_half_up(error.rounding, _HUNDREDTH),
        instrument=round_half_up(error.instrument, _HUNDREDTH),
        strength=round_half_up(error.strength, _HUNDREDTH),
        worst=round_half_up(error.worst, _HUNDREDTH),
        expected=round_half_up(error.expected, _HUNDREDTH),
    )
