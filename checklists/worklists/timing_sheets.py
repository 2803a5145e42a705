"""The numbers behind the charts as lines of CSV; lengths in seconds, no patient is named."""

from __future__ import annotations

from collections.abc import Iterator

from checklists.worklists.durations import Asked, duration_screen
from checklists.worklists.individuals import individuals_screen
from checklists.worklists.stops import stops_screen
from checklists.worklists.supervision import plain_cell

HEAD = (
    "divided by", "name", "what", "count", "tenth_seconds", "quarter_seconds", "median_seconds",
    "three_quarters_seconds", "nine_tenths_seconds", "percent_of_all", "than_before",
)  # fmt: skip


def rows_of(wanted: Asked) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the page, or, where one thing is asked for, its latest times."""
    if wanted.is_one:
        yield "preparation", "ended_at", "seconds", "stands_out"
        for one in individuals_screen(wanted).rows:
            yield one.code, one.at.isoformat(), f"{one.length.total_seconds():.1f}", one.stands_out
        return
    yield HEAD
    for row in duration_screen(wanted).rows:
        spread = row.spread
        lengths = (spread.least, spread.lower, spread.median, spread.upper, spread.most)
        yield (
            wanted.by, plain_cell(row.name), row.what, str(spread.count),
            *(f"{one / 1000:.1f}" for one in lengths), str(row.share), row.against,
        )  # fmt: skip


def reasons_of(wanted: Asked) -> Iterator[tuple[str, ...]]:
    """Yield the reasons with their number, then the checks that differed."""
    screen = stops_screen(wanted)
    yield "reason", "count", "running_percent"
    for bar in screen.reasons:
        yield plain_cell(bar.name), str(bar.count), str(bar.percent)
    yield ()
    yield "preparation", "at", "draw", "drawn_mL", "seen_mL", "percent"
    for one in screen.differed:
        yield one.code, one.at.isoformat(), str(one.draw), one.drawn, one.seen, one.percent
