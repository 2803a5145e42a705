"""A worksheet on plain paper: aligned columns of text, read from top to bottom in the order of the work."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from datetime import datetime, tzinfo

from compounding.reckoning.labelling import STORAGE, strength_written
from compounding.reckoning.quantities import write
from compounding.reckoning.working import short
from compounding.reckoning.worksheet import Draw, Line, Purpose, Transfer, Worksheet

WIDTH = 110
GAP = "  "
DATING = "beyond-use date"
HELD = "\N{NO-BREAK SPACE}"
NUMBER_AND_UNIT = re.compile(r"(?<=[0-9]) (?=[A-Za-z%])")
Row = Sequence[str]


def written(worksheet: Worksheet, zone: tzinfo) -> str:
    """Return a whole worksheet as text for people; times in `zone`."""
    parts = (
        _head(worksheet, zone),
        _part("What is ordered, in each unit", _columns(_ingredients(worksheet), right=(1, 2, 3))),
        _part("What it is made in", _columns(_volumes(worksheet))),
        _part("Containers", _columns(_containers(worksheet))),
        _part("Draws, in the order of the work", _columns(_draws(worksheet), right=(0, 2, 3))),
        _part("Supplies", [", ".join(f"{one.count} × {one.name}" for one in worksheet.supplies)]),
        _part("Working", _lines(line for line in worksheet.working if line.about != DATING)),
        _part("Beyond-use date, the earliest of", _lines(_limits(worksheet, zone))),
        _part("Mind", worksheet.warnings),
        _part("Only with a pharmacist's reason", [one.text for one in worksheet.cautions]),
        _part("Proof, by the second arithmetic", _lines(worksheet.proof)),
    )
    return "\n\n".join(filter(None, parts)) + "\n"


def _head(worksheet: Worksheet, zone: tzinfo) -> str:
    units = f"{worksheet.units} units alike" if worksheet.units > 1 else "1 unit"
    stamp = (
        f"{worksheet.formulation}, version {worksheet.formulation_version}; "
        f"policy {worksheet.policy_version}, program {worksheet.program_version}"
    )
    times = (
        f"Preparation starts {_clock(worksheet.started_at, zone)}; "
        f"begin before {_clock(worksheet.beyond_use_at, zone)}"
    )
    cautions = [
        name
        for name, applies in (
            ("hazardous", worksheet.hazardous),
            ("protect from light", worksheet.protect_from_light),
        )
        if applies
    ]
    lines = [worksheet.title, "=" * min(len(worksheet.title), WIDTH), f"{units}. {stamp}", times]
    return "\n".join([*lines, ", ".join(cautions).capitalize()] if cautions else lines)


def _ingredients(worksheet: Worksheet) -> Iterable[Row]:
    for one in worksheet.ingredients:
        alert = "high-alert" if one.high_alert else ""
        yield one.written, write(one.dose), write(one.strength), short(one.volume), alert


def _volumes(worksheet: Worksheet) -> Iterable[Row]:
    if worksheet.diluent:
        yield "Diluent", f"{worksheet.diluent}, {write(worksheet.diluent_volume)}"
    yield "Method", worksheet.method
    yield "Volume", f"{write(worksheet.final_volume)} labelled, {write(worksheet.true_volume)} true"
    for one in worksheet.ingredients:
        labelled, true = (strength_written(each) for each in (one.concentration, one.true_concentration))
        said = labelled if labelled == true else f"{labelled} labelled, {true} true"
        yield f"{one.written} in it", said
    yield "Storage", STORAGE.get(worksheet.storage, worksheet.storage)
    yield "Mixing", worksheet.mixing


def _containers(worksheet: Worksheet) -> Iterable[Row]:
    for one in worksheet.containers:
        yield one.key, one.name, "" if one.volume is None else write(one.volume)


def _draws(worksheet: Worksheet) -> Iterable[Row]:
    yield "No.", "What", "Required", "Draw to", "Syringe, mark", "Air first", "From", "Into"
    for transfer in worksheet.transfers:
        for draw in transfer.draws:
            yield _draw(draw, transfer)


def _draw(draw: Draw, transfer: Transfer) -> Row:
    syringe = f"{write(draw.syringe.size)}, {write(draw.syringe.mark)}"
    sources = " and ".join(f"{write(portion.volume)} {portion.container}" for portion in draw.sources)
    air = write(draw.air) if draw.air.magnitude else "none"
    what = transfer.of_what if transfer.purpose is Purpose.DRUG else str(transfer.purpose)
    volumes = (short(draw.required), write(draw.target))
    return str(draw.number), what, *volumes, syringe, air, sources, draw.destination


def _limits(worksheet: Worksheet, zone: tzinfo) -> Iterable[Line]:
    for limit in worksheet.limits:
        mark = "binds:" if limit.binding else ""
        yield Line(f"{mark:<6} {_clock(limit.ends_at, zone)}", f"{limit.what} ({limit.source})")


def _lines(lines: Iterable[Line]) -> list[str]:
    """Return lines of working under each other, what they are about before them, wrapped to the width."""
    known = list(lines)
    wide = max((len(line.about) for line in known), default=0) + len(GAP)
    return [row for line in known for row in _wrapped(f"{line.about:<{wide}}", _together(line.text))]


def _wrapped(about: str, text: str) -> list[str]:
    """Return a text wrapped to the width, hanging from what it is about."""
    rows = textwrap.wrap(text, WIDTH - len(GAP) - len(about), break_long_words=False, break_on_hyphens=False)
    rest = " " * len(about)
    return [f"{rest if number else about}{row}".replace(HELD, " ") for number, row in enumerate(rows)]


def _together(text: str) -> str:
    """Return a text in which no number is parted from its unit."""
    return NUMBER_AND_UNIT.sub(HELD, text)


def _columns(rows: Iterable[Row], right: tuple[int, ...] = ()) -> list[str]:
    """Return rows with their columns aligned; the columns of `right` to the right."""
    known = list(rows)
    wide = [max(len(cell) for cell in column) for column in zip(*known, strict=True)]
    return [
        GAP.join(
            cell.rjust(wide[at]) if at in right else cell.ljust(wide[at]) for at, cell in enumerate(row)
        ).rstrip()
        for row in known
    ]


def _part(title: str, lines: Iterable[str]) -> str:
    """Return a part under its title, nothing where it has no lines."""
    known = list(lines)
    return "\n".join([title, *(f"{GAP}{line}" for line in known)]) if known else ""


def _clock(iso: str, zone: tzinfo) -> str:
    return datetime.fromisoformat(iso).astimezone(zone).strftime("%Y-%m-%d %H:%M %Z")
