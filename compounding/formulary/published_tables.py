"""Every row of the published tables, put to the program: what it says beside what is printed."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from compounding.formulary.gtins import check_digit
from compounding.reckoning import dating
from compounding.reckoning.dating import DatingFacts, StorageNotAllowed
from compounding.reckoning.examples import running
from compounding.reckoning.linting import lint
from compounding.reckoning.policy import DEFAULT_SYRINGES
from compounding.reckoning.quantities import number_in, read, write, write_number
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.syringes import tolerance
from compounding.reckoning.tall_man import in_tall_man

Row = dict[str, Any]
START = datetime(2026, 1, 1, 8, tzinfo=UTC)
AN_HOUR = timedelta(hours=1)
HUNDRED = Decimal(100)
NOT_ALLOWED = "not allowed"


@dataclass(frozen=True)
class Result:
    """One row that was put to the program: printed there, said here. `mark` says how the row is known."""

    part: str
    name: str
    published: str
    found: str
    passed: bool
    mark: str
    remark: str = ""


def examples(folder: Path) -> Iterator[Result]:
    """Run every published worked example; a listed disagreement passes as long as it stays the same."""
    listed = {row["id"]: row for row in _rows(folder, "worked_examples_disagreeing")}
    for row in _rows(folder, "worked_examples"):
        yield _example(row, listed.get(row["id"]))


def tables(folder: Path) -> Iterator[Result]:
    """Put every row of every table to the program."""
    for part, file, said in TABLES:
        for row in _rows(folder, file):
            name, published, found = said(row)
            yield Result(part, name, published, found, published == found, row["mark"])


def _example(row: Row, listed: Row | None) -> Result:
    name, published = f"{row['id']} {row['kind'].replace('_', ' ')}", row["expected"]["text"]
    mark = "answer seen" if row["answer_seen"] else "by construction"
    try:
        outcome = running.run(row)
    except (Refusal, KeyError, ValueError) as fault:
        return Result(EXAMPLES, name, published, f"{type(fault).__name__}: {fault}", False, mark)
    if listed is None:
        return Result(EXAMPLES, name, published, outcome.found, outcome.agrees, mark)
    is_same = (outcome.published, outcome.found) == (listed["published"], listed["found"])
    return Result(EXAMPLES, name, published, outcome.found, is_same, mark, listed["why"])


def _rows(folder: Path, name: str) -> list[Row]:
    rows: list[Row] = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))["rows"]
    return rows


Said = tuple[str, str, str]


def _use_limit(row: Row) -> Said:
    conditions = (row["category"], row["method"], row["sterility_tested"], row["only_sterile"])
    try:
        (limit,) = dating.beyond_use(DatingFacts(*conditions, row["storage"], None, "", None, ()), START)
        found = f"{(datetime.fromisoformat(limit.ends_at) - START) // AN_HOUR} h"
    except StorageNotAllowed:
        found = NOT_ALLOWED
    tested = "tested" if row["sterility_tested"] else "not tested"
    parts = "only sterile parts" if row["only_sterile"] else "a nonsterile part"
    name = f"Category {row['category']}, {row['method']}, {tested}, {parts}, {row['storage']}"
    return name, NOT_ALLOWED if row["hours"] is None else f"{row['hours']} h", found


def _tolerance(row: Row) -> Said:
    size, volume = number_in(read(row["size"]), "mL"), number_in(read(row["volume"]), "mL")
    found = tolerance(size, volume) / volume * HUNDRED
    return f"{row['volume']} from a {row['size']} syringe", f"{row['percent']} %", f"{write_number(found)} %"


def _graduation(row: Row) -> Said:
    stock = {write(one.size): write(one.mark) for one in DEFAULT_SYRINGES}
    return f"{row['size']} syringe", row["mark_each"], stock.get(row["size"], "not in stock")


def _check_digit(row: Row) -> Said:
    return row["digits"], str(row["check_digit"]), str(check_digit(row["digits"]))


def _tall_man(row: Row) -> Said:
    return row["name"].lower(), row["name"], in_tall_man(row["name"].lower())


def _error_prone(row: Row) -> Said:
    return row["written"], row["better"], "; ".join(fault.better for fault in lint(row["written"]))


EXAMPLES = "Worked examples"
TABLES: tuple[tuple[str, str, Callable[[Row], Said]], ...] = (
    ("Beyond-use limits", "beyond_use_limits", _use_limit),
    ("Syringe tolerances", "syringe_tolerances", _tolerance),
    ("Syringe graduations", "syringe_graduations", _graduation),
    ("Check digits", "check_digits", _check_digit),
    ("Tall-man letters", "tall_man", _tall_man),
    ("Error-prone forms", "error_prone_forms", _error_prone),
)
