"""Charts as geometry: where each mark of a drawing lies. The templates `charts/*.svg` draw them.

They are drawn by the page's own templates, not by a plotting library: a mark is a class of the style sheet,
so that a chart follows the theme and prints, its words are the page's, and it costs a millisecond.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cached_property

from checklists.measures.control_chart import ControlChart
from checklists.measures.pareto import Bar
from checklists.measures.spread import Spread
from checklists.templatetags.spans import span

SECOND, MINUTE, HOUR = 1000, 60_000, 3_600_000
#: Lengths that a person reads off easily, in milliseconds.
ROUND = (
    1 * SECOND, 2 * SECOND, 5 * SECOND, 10 * SECOND, 20 * SECOND, 30 * SECOND,
    1 * MINUTE, 2 * MINUTE, 5 * MINUTE, 10 * MINUTE, 20 * MINUTE, 30 * MINUTE,
    1 * HOUR, 2 * HOUR, 4 * HOUR, 8 * HOUR, 24 * HOUR, 48 * HOUR, 168 * HOUR,
)  # fmt: skip
MOST_TICKS = 5
#: How wide a row's drawing is, in its own measure.
WIDE = 600


@dataclass(frozen=True)
class Tick:
    """A mark of an axis and its words."""

    at: float
    words: str


@dataclass(frozen=True)
class Axis:
    """From nothing to `most` (milliseconds), over `wide` units."""

    most: float
    wide: int
    ticks: tuple[Tick, ...]

    @cached_property
    def grid(self) -> str:
        """Return the path of the lines at the marks, over the height of a row."""
        return "".join(f"M{tick.at}-8V34" for tick in self.ticks)

    def at(self, milliseconds: float) -> float:
        """Return where a length lies, at most at the end."""
        return round(min(milliseconds / self.most, 1) * self.wide, 1) if self.most else 0


@dataclass(frozen=True)
class RangeBar:
    """One spread: a line from `least` to `most`, a bar from `lower` to `upper`, a mark at the median."""

    least: float
    lower: float
    median: float
    upper: float
    most: float

    @property
    def line(self) -> float:
        """Return how long the line is."""
        return round(self.most - self.least, 1)

    @property
    def bar(self) -> float:
        """Return how wide the bar is; never too thin to be seen."""
        return max(round(self.upper - self.lower, 1), 2)


def axis(most: float, wide: int = WIDE) -> Axis:
    """Return an axis that ends at `most`, with a few marks at lengths that read easily."""
    apart = next((one for one in ROUND if most / one <= MOST_TICKS), ROUND[-1])
    count = int(most / apart)
    marks = [apart * number for number in range(count + 1)]
    whole = Axis(most, wide, ())
    ticks = tuple(Tick(whole.at(mark), short(mark)) for mark in marks) if most else ()
    return Axis(most, wide, ticks)


def short(milliseconds: float) -> str:
    """Write a round length without what is nothing: `5 min`, not `5 min 00 s`."""
    if milliseconds >= HOUR and milliseconds % HOUR == 0:
        return f"{int(milliseconds // HOUR)} h"
    if milliseconds >= MINUTE and milliseconds % MINUTE == 0:
        return f"{int(milliseconds // MINUTE)} min"
    return span(timedelta(milliseconds=milliseconds)) if milliseconds else "0"


def range_bar(spread: Spread, scale: Axis) -> RangeBar:
    """Return a spread's drawing on an axis."""
    return RangeBar(
        *(scale.at(one) for one in (spread.least, spread.lower, spread.median, spread.upper, spread.most))
    )


@dataclass(frozen=True)
class Point:
    """One value of a chart: where, whether it stands out, and what it is in words."""

    x: float
    y: float
    is_beyond: bool
    is_in_run: bool
    words: str


@dataclass(frozen=True)
class ControlDrawing:
    """An individuals chart, 960 × 260: points joined by a line, the mean, the natural limits."""

    points: tuple[Point, ...]
    path: str
    mean: float
    upper: float
    lower: float | None
    ticks: tuple[Tick, ...]


CHART_WIDE, CHART_HIGH, CHART_LEFT = 840, 240, 70


def control_drawing(chart: ControlChart, words: Sequence[str]) -> ControlDrawing:
    """Return the drawing of a chart of lengths in milliseconds; `words` name its values."""
    scale = axis(max(*chart.values, chart.upper) * 1.05, CHART_HIGH)
    apart = CHART_WIDE / max(len(chart.values) - 1, 1)

    def y(value: float) -> float:
        return round(CHART_HIGH - scale.at(max(value, 0)), 1)

    points = tuple(
        Point(
            x=round(CHART_LEFT + apart * place, 1),
            y=y(value),
            is_beyond=place in chart.beyond,
            is_in_run=place in chart.in_run,
            words=words[place],
        )
        for place, value in enumerate(chart.values)
    )
    return ControlDrawing(
        points=points,
        path=" ".join(f"{point.x},{point.y}" for point in points),
        mean=y(chart.mean),
        upper=y(chart.upper),
        lower=y(chart.lower) if chart.lower > 0 else None,
        ticks=tuple(Tick(round(CHART_HIGH - tick.at, 1), tick.words) for tick in scale.ticks),
    )


@dataclass(frozen=True)
class ReasonBar:
    """One reason of a Pareto chart: how long its bar is, where the running share lies, both of 600."""

    name: str
    count: int
    percent: int
    bar: float
    running: float


def reason_bars(bars: Sequence[Bar]) -> tuple[ReasonBar, ...]:
    """Return the drawing of reasons in the order of their number."""
    most = max((bar.count for bar in bars), default=1)
    return tuple(
        ReasonBar(
            name=bar.name,
            count=bar.count,
            percent=round(100 * bar.running),
            bar=round(WIDE * bar.count / most, 1),
            running=round(WIDE * bar.running, 1),
        )
        for bar in bars
    )


@dataclass(frozen=True)
class ValueDrawing:
    """Readings along their order, 860 × 160, with the limits as a band."""

    points: tuple[Point, ...]
    path: str
    high: float
    low: float
    words: tuple[tuple[str, float], ...]

    @property
    def band(self) -> float:
        """Return how high the band between the limits is."""
        return round(self.low - self.high, 1)


VALUES_HIGH = 160


def value_drawing(
    values: Sequence[tuple[datetime, Decimal]], least: Decimal | None, most: Decimal | None, unit: str
) -> ValueDrawing:
    """Return the drawing of readings; where there is no limit the band ends at the edge."""
    numbers = [value for _at, value in values]
    bottom, top = min([*numbers, least or numbers[0]]), max([*numbers, most or numbers[0]])
    room = (top - bottom) / 8 or Decimal(1)
    bottom, top = bottom - room, top + room
    apart = CHART_WIDE / max(len(values) - 1, 1)

    def y(value: Decimal) -> float:
        return round(float((top - value) / (top - bottom)) * VALUES_HIGH, 1)

    def is_beyond(value: Decimal) -> bool:
        return (least is not None and value < least) or (most is not None and value > most)

    points = tuple(
        Point(
            round(CHART_LEFT + apart * place, 1), y(value), is_beyond(value), False,
            f"{at:%d %b %H:%M}: {value.normalize():f} {unit}",
        )
        for place, (at, value) in enumerate(values)
    )  # fmt: skip
    ends = [(limit, y(limit)) for limit in (most, least) if limit is not None]
    return ValueDrawing(
        points=points,
        path=" ".join(f"{point.x},{point.y}" for point in points),
        high=y(most) if most is not None else 0,
        low=y(least) if least is not None else VALUES_HIGH,
        words=tuple((f"{limit.normalize():f} {unit}", at) for limit, at in ends),
    )
