"""Three amounts on one scale, beside the half mark they may differ by."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from checklists.method.agreement import odd_one

WIDTH, HEIGHT = 346, 150
MARGIN = Decimal(30)
TENTH = Decimal("0.1")


@dataclass(frozen=True)
class Pointer:
    """One amount: where it stands. `name` is required, drawn or seen; each has a shape and row of its own."""

    name: str
    x: Decimal
    is_odd: bool


@dataclass(frozen=True)
class Tick:
    """A written number of the scale."""

    x: Decimal
    label: str


@dataclass(frozen=True)
class ScalePicture:
    """The scale: the band is required ± half a mark; the span runs from the least to the largest amount."""

    width: int
    height: int
    left: Decimal
    right: Decimal
    band_x: Decimal
    band_width: Decimal
    span_x: Decimal
    span_width: Decimal
    agrees: bool
    ticks: tuple[Tick, ...]
    pointers: tuple[Pointer, ...]


@dataclass(frozen=True)
class _Window:
    """The stretch of volume that is drawn."""

    least: Decimal
    most: Decimal

    def x(self, volume: Decimal) -> Decimal:
        share = (volume - self.least) / (self.most - self.least)
        return (MARGIN + share * (WIDTH - 2 * MARGIN)).quantize(TENTH)


def scale_picture(required: Decimal, drawn: Decimal, seen: Decimal, half_mark: Decimal) -> ScalePicture:
    """Return the scale of three amounts in mL; they agree when their spread is at most `half_mark`.

    The window is two marks to either side of the required amount, wider when an amount is further off:
    a tenfold slip then shows as far as it is.
    """
    amounts = {"required": required, "drawn": drawn, "seen": seen}
    least, most = min(amounts.values()), max(amounts.values())
    window = _window(required, max(most - required, required - least), half_mark)
    band = (window.x(required - half_mark), window.x(required + half_mark))
    span = (window.x(least), window.x(most))
    agrees = most - least <= half_mark
    odd = "" if agrees else odd_one(amounts, half_mark)
    return ScalePicture(
        width=WIDTH,
        height=HEIGHT,
        left=MARGIN,
        right=WIDTH - MARGIN,
        band_x=band[0],
        band_width=band[1] - band[0],
        span_x=span[0],
        span_width=span[1] - span[0],
        agrees=agrees,
        ticks=_ticks(window),
        pointers=tuple(Pointer(name, window.x(amount), name == odd) for name, amount in amounts.items()),
    )


def _window(required: Decimal, furthest: Decimal, half_mark: Decimal) -> _Window:
    reach = max(4 * half_mark, furthest * Decimal("1.15"))
    return _Window(required - reach, required + reach)


def _ticks(window: _Window) -> tuple[Tick, ...]:
    """At most five round numbers, at least two where the scale has room for them, none below zero."""
    for parts in (4, 6, 10):
        step = _round_step((window.most - window.least) / parts)
        first = (window.least / step).to_integral_value(rounding="ROUND_CEILING") * step
        volumes = [first + step * count for count in range(parts + 2)]
        ticks = [Tick(window.x(v), _written(v)) for v in volumes if 0 <= v <= window.most]
        if len(ticks) > 1:
            break
    return tuple(ticks)


def _round_step(least: Decimal) -> Decimal:
    """The smallest of 1, 2, 5 times a power of ten that is not below `least`."""
    for power in range(-5, 6):
        for digit in (1, 2, 5):
            step = Decimal(digit).scaleb(power)
            if step >= least:
                return step
    return least


def _written(number: Decimal) -> str:
    return format(number.normalize(), "f") if number else "0"
