"""A syringe, needle up, with the plunger's edge at the mark."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

#: The drawing: view box (wide with a close-up), where the scale begins (at the needle) and how long it is.
WIDTH, WIDE, HEIGHT = 430, 510, 640
CENTRE = Decimal(116)
ZERO_Y = Decimal(140)
LENGTH = Decimal(370)

#: Marks closer together than this are drawn a second time, enlarged, around the target.
CLOSE = Decimal(7)
ENLARGED = Decimal(30)
AROUND = 3

HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class Graduation:
    """One mark of the scale: `length` of its line; `label` is empty where no number is printed."""

    y: Decimal
    length: int
    label: str


@dataclass(frozen=True)
class CloseUp:
    """The marks around the target, enlarged; `centre_y` is where the plunger's edge stands in it."""

    centre_y: Decimal
    top: Decimal
    bottom: Decimal
    graduations: tuple[Graduation, ...]


@dataclass(frozen=True)
class SyringePicture:
    """A syringe of this size with its plunger at the target: `edge_y` is true to scale."""

    width: int
    height: int
    size: str
    target: str
    left: Decimal
    right: Decimal
    centre: Decimal
    zero_y: Decimal
    end_y: Decimal
    edge_y: Decimal
    thumb_y: Decimal
    graduations: tuple[Graduation, ...]
    close_up: CloseUp | None


def syringe_picture(size: Decimal, mark: Decimal, target: Decimal) -> SyringePicture:
    """Return the picture of a `size` mL syringe graduated every `mark` mL, its plunger at `target` mL.

    Numbers stand where makers print them: at most ten, at least five marks apart (common practice,
    no source). The needle points up, as when drawing from a container held above.
    """
    per_ml = LENGTH / size
    half = _half_width(size)
    edge = (ZERO_Y + target * per_ml).quantize(HUNDREDTH)
    close_up = _close_up(size, mark, target, edge) if mark * per_ml < CLOSE else None
    return SyringePicture(
        width=WIDE if close_up else WIDTH,
        height=HEIGHT,
        size=_written(size),
        target=_written(target),
        left=CENTRE - half,
        right=CENTRE + half,
        centre=CENTRE,
        zero_y=ZERO_Y,
        end_y=ZERO_Y + LENGTH,
        edge_y=edge,
        thumb_y=(ZERO_Y + LENGTH + 62 + (edge - ZERO_Y) / 8).quantize(HUNDREDTH),
        graduations=_graduations(size, mark, per_ml),
        close_up=close_up,
    )


def numbered_every(size: Decimal, mark: Decimal) -> Decimal:
    """Return the interval, in mL, at which numbers are printed on the scale."""
    for power in range(-3, 4):
        for digit in (1, 2, 5):
            every = Decimal(digit).scaleb(power)
            if size / every <= 10 and every >= 5 * mark and every % mark == 0:
                return every
    return size


def _half_width(size: Decimal) -> Decimal:
    """A small syringe is slender beside its length, as in the hand."""
    slender = {Decimal(1): 30, Decimal(2): 38, Decimal(3): 42}
    return Decimal(slender.get(size, 58))


def _graduations(size: Decimal, mark: Decimal, per_ml: Decimal) -> tuple[Graduation, ...]:
    every = numbered_every(size, mark)
    volumes = [mark * count for count in range(int(size / mark) + 1)]
    return tuple(
        Graduation(
            (ZERO_Y + volume * per_ml).quantize(HUNDREDTH),
            _tick(volume, every, longest=34),
            _written(volume) if volume and volume % every == 0 else "",
        )
        for volume in volumes
    )


def _tick(volume: Decimal, every: Decimal, longest: int) -> int:
    if volume % every == 0:
        return longest
    return longest * 2 // 3 if (volume * 2) % every == 0 else longest * 2 // 5


def _close_up(size: Decimal, mark: Decimal, target: Decimal, edge: Decimal) -> CloseUp:
    reach = ENLARGED * AROUND + 14
    centre = min(max(edge, ZERO_Y + reach), ZERO_Y + LENGTH - reach)
    every = numbered_every(size, mark)
    nearest = int(target / mark)
    volumes = [mark * count for count in range(nearest - AROUND, nearest + AROUND + 1)]
    near = [one for one in volumes if 0 <= one <= size and abs(one - target) <= AROUND * mark]
    return CloseUp(
        centre_y=centre,
        top=centre - reach,
        bottom=centre + reach,
        graduations=tuple(_enlarged(volume, target, mark, every, centre) for volume in near),
    )


def _enlarged(volume: Decimal, target: Decimal, mark: Decimal, every: Decimal, centre: Decimal) -> Graduation:
    is_written = (volume * 2) % every == 0
    y = (centre + (volume - target) / mark * ENLARGED).quantize(HUNDREDTH)
    return Graduation(y, _tick(volume, every, longest=40), _written(volume) if is_written else "")


def _written(number: Decimal) -> str:
    """The number as printed on a syringe: no trailing zero, a zero before the point."""
    return format(number.normalize(), "f")
