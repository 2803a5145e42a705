"""Pairs that must not meet in one container: drug with drug, and drug with diluent.

The table is the pharmacy's own, reviewed, each row with its source; it is handed in. A row stops the work, or
needs a pharmacist's reason. An absent row is not a promise: nobody has said that those two may meet.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from compounding.reckoning.refusals import CannotBeMade, MissingFact, OutOfRange


class Verdict(StrEnum):
    """What a row asks for."""

    STOP = "stop"
    REASON = "reason"


@dataclass(frozen=True)
class Pair:
    """One reviewed row. `first` and `second` are generic names, diluents or groups, in lower case."""

    first: str
    second: str
    verdict: Verdict
    why: str
    source: str


@dataclass(frozen=True)
class Conflict:
    """Two things of one preparation that a row speaks against."""

    one: str
    other: str
    pair: Pair

    @property
    def sentence(self) -> str:
        """Return the conflict in words: what, why, what is asked, by which source."""
        asked = (
            "Do not put them together" if self.pair.verdict is Verdict.STOP else "A pharmacist gives a reason"
        )
        return f"{self.one} with {self.other}. {self.pair.why}. {asked} ({self.pair.source})."


class Incompatible(CannotBeMade):
    """Two things that may not meet. Facts: conflict."""

    wording = "{conflict}"


@dataclass(frozen=True)
class PairTable:
    """The reviewed rows, and which substances each group name stands for."""

    pairs: tuple[Pair, ...]
    groups: Mapping[str, frozenset[str]]


def table_of(
    rows: Iterable[Mapping[str, str]], groups: Mapping[str, Iterable[str]] | None = None
) -> PairTable:
    """Return the table of plain rows: first, second, verdict ("stop" or "reason"), why, source.

    Refuses MissingFact for a row without why or source, OutOfRange for another verdict.
    """
    named = {
        plain_name(name): frozenset(map(plain_name, members)) for name, members in (groups or {}).items()
    }
    return PairTable(tuple(_pair(row) for row in rows), named)


def conflicts(substances: Iterable[str], diluent: str, table: PairTable) -> tuple[Conflict, ...]:
    """Return every conflict among the substances and with the diluent (empty for none), stops first.

    Names are compared without regard to case and spaces; names of groups stand for their members.
    """
    present = {name: plain_name(name) for name in (*substances, diluent) if name.strip()}
    sides = [(pair, _names(pair.first, table), _names(pair.second, table)) for pair in table.pairs]
    at_hand = [row for row in sides if not (row[1] | row[2]).isdisjoint(present.values())]
    found = (
        Conflict(one, other, pair)
        for (one, plain), (other, beside) in combinations(present.items(), 2)
        for pair, first, second in at_hand
        if (plain in first and beside in second) or (beside in first and plain in second)
    )
    return tuple(sorted(found, key=lambda conflict: conflict.pair.verdict is not Verdict.STOP))


def refuse_stops(found: tuple[Conflict, ...]) -> None:
    """Refuse a preparation that a row stops, whatever the reason. Raises Incompatible."""
    for conflict in found:
        if conflict.pair.verdict is Verdict.STOP:
            raise Incompatible(conflict=conflict.sentence)


def _pair(row: Mapping[str, str]) -> Pair:
    first, second = row.get("first", ""), row.get("second", "")
    for fact in ("first", "second", "why", "source"):
        if not row.get(fact, "").strip():
            raise MissingFact(fact=f"“{fact}” of {first} with {second}", why="the table is reviewed by it")
    verdict = row.get("verdict", "")
    if verdict not in tuple(Verdict):
        raise OutOfRange(
            what=f"The verdict on {first} with {second}", given=f"“{verdict}”", range="stop or reason"
        )
    return Pair(
        plain_name(first), plain_name(second), Verdict(verdict), row["why"].strip(), row["source"].strip()
    )


def _names(name: str, table: PairTable) -> frozenset[str]:
    return table.groups.get(name, frozenset()) | {name}


def plain_name(name: str) -> str:
    """Return a name for comparing: lower case, single spaces, `0.9%` as `0.9 %`."""
    return " ".join(name.casefold().replace("%", " %").split())
