"""A syringe, needle up, with the plunger's edge at the mark."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

#: The drawing: view box (wide with a close-up), where the scale begins (at the needle) and how long it is.
WIDTH, WIDE, HEIGHT = 430, 560, 640
CENTRE = Decimal(116)
ZERO_Y = Decimal(140)
LENGTH = Decimal(370)

#: Where the thumb rest of an empty syringe is.
THUMB_Y = ZERO_Y + LENGTH + 62

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
    """The marks around the plunger's edge, enlarged; the edge stands at `centre_y`, always.

    The scale slides behind it: `scale_y` is where its zero stands now, `end_y` where it stands when the
    syringe is full, `centre_y` when it is empty. A graduation's `y` counts from that zero.
    """

    centre_y: Decimal
    top: Decimal
    bottom: Decimal
    scale_y: Decimal
    end_y: Decimal
    graduations: tuple[Graduation, ...]

    @property
    def height(self) -> Decimal:
        """Return how high the window is."""
        return self.bottom - self.top


@dataclass(frozen=True)
class SyringePicture:
    """A syringe of this size with its plunger at the target: `edge_y` is true to scale.

    The thumb rest moves too, though not as far (the picture would grow too high): from `thumb_zero_y`
    at zero to `thumb_end_y` at full; `thumb_y` is where it is now.
    """

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
    mark: str
    thumb_zero_y: Decimal
    thumb_end_y: Decimal
    thumb_y: Decimal
    graduations: tuple[Graduation, ...]
    close_up: CloseUp | None


def syringe_picture(size: Decimal, mark: Decimal, target: Decimal) -> SyringePicture:
    """Return the picture of a `size` mL syringe graduated every `mark` mL, its plunger at `target` mL.

    Numbers stand where makers print them: at most ten, at least five marks apart (common practice,
    no source). The needle points up, as when drawing from a container held above.
    """
    picture = _drawn(size, mark, target)
    if picture.close_up is None:
        return picture
    return replace(picture, close_up=_nearby(picture.close_up))


def moving_syringe(size: Decimal, mark: Decimal) -> SyringePicture:
    """Return the picture of an empty syringe whose plunger a script may set to any mark."""
    return _drawn(size, mark, Decimal(0), is_moving=True)


def _drawn(size: Decimal, mark: Decimal, target: Decimal, is_moving: bool = False) -> SyringePicture:
    per_ml = LENGTH / size
    half = _half_width(size)
    edge = (ZERO_Y + target * per_ml).quantize(HUNDREDTH)
    centre = ZERO_Y + LENGTH / 2 if is_moving else edge
    close_up = _close_up(size, mark, target, centre) if mark * per_ml < CLOSE else None
    return SyringePicture(
        width=WIDE if close_up else WIDTH,
        height=HEIGHT,
        size=_written(size),
        target=_written(target),
        mark=_written(mark),
        left=CENTRE - half,
        right=CENTRE + half,
        centre=CENTRE,
        zero_y=ZERO_Y,
        end_y=ZERO_Y + LENGTH,
        edge_y=edge,
        thumb_zero_y=THUMB_Y,
        thumb_end_y=THUMB_Y + LENGTH / 8,
        thumb_y=(THUMB_Y + (edge - ZERO_Y) / 8).quantize(HUNDREDTH),
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


def _close_up(size: Decimal, mark: Decimal, target: Decimal, wanted_y: Decimal) -> CloseUp:
    """The whole scale, enlarged, behind a window that stays within the barrel's height."""
    reach = ENLARGED * AROUND + 14
    centre = min(max(wanted_y, ZERO_Y + reach), ZERO_Y + LENGTH - reach)
    every = numbered_every(size, mark)
    return CloseUp(
        centre_y=centre,
        top=centre - reach,
        bottom=centre + reach,
        scale_y=(centre - target / mark * ENLARGED).quantize(HUNDREDTH),
        end_y=centre - size / mark * ENLARGED,
        graduations=tuple(_enlarged(count, mark, every) for count in range(int(size / mark) + 1)),
    )


def _enlarged(count: int, mark: Decimal, every: Decimal) -> Graduation:
    volume = count * mark
    is_written = (volume * 2) % every == 0
    return Graduation(
        count * ENLARGED, _tick(volume, every, longest=36), _written(volume) if is_written else ""
    )


def _nearby(close_up: CloseUp) -> CloseUp:
    """Only what the window shows."""
    shown = (
        one for one in close_up.graduations if close_up.top <= close_up.scale_y + one.y <= close_up.bottom
    )
    return replace(close_up, graduations=tuple(shown))


def _written(number: Decimal) -> str:
    """The number as printed on a syringe: no trailing zero, a zero before the point."""
    return format(number.normalize(), "f") if number else "0"
