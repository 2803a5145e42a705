"""Reading any text for error-prone writing: where, what is wrong, what to write instead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from compounding.reckoning.error_prone import FORMS
from compounding.reckoning.tall_man import short_of_tall_man


@dataclass(frozen=True)
class Fault:
    """One error-prone form in a text: its place (line and character), the fault and the better form."""

    place: str
    fault: str
    better: str


def lint(text: str) -> tuple[Fault, ...]:
    """Return every error-prone form of the text in reading order, nothing when it is well written.

    Knows the forms of error_prone.py and the names of tall_man.py. What it does not name it has not approved.
    """
    found = sorted(spot for number, line in enumerate(text.splitlines(), 1) for spot in _spots(number, line))
    return tuple(
        Fault(f"line {number}, character {at + 1}", fault, better) for number, at, fault, better in found
    )


def _spots(number: int, line: str) -> Iterator[tuple[int, int, str, str]]:
    for form in FORMS:
        for match in form.pattern.finditer(line):
            yield number, match.start(), f"“{match[0].strip()}”: {form.fault}", form.better(match).strip()
    for at, written, better in short_of_tall_man(line):
        yield number, at, f"“{written}”: without its tall-man letters", better
