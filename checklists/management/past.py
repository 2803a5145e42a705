"""One invented preparation: its rows without their keys, and its chain of entries."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from checklists.method import procedure
from checklists.method.chain import GENESIS, canonical, digest
from checklists.models import Hood, Person
from compounding.formulary.models import Order
from compounding.formulary.models.orders import OrderDose
from compounding.reckoning.worksheet import Worksheet


@dataclass(frozen=True)
class Pattern:
    """An order that is made again and again, with its worksheet and steps."""

    order: Order
    worksheet: Worksheet
    plain: dict[str, Any]
    steps: tuple[procedure.PlannedStep, ...]
    doses: tuple[OrderDose, ...]


@dataclass
class Past:
    """One invented preparation: its rows, without their keys, and its chain of entries."""

    pattern: Pattern
    technician: Person
    checker: Person
    second: Person
    hood: Hood
    code: str
    order: str
    at: datetime
    opened_at: datetime
    plain: dict[str, Any]
    steps: list[dict[str, Any]] = field(default_factory=list)
    entries: list[dict[str, Any]] = field(default_factory=list)
    recalculations: list[dict[str, Any]] = field(default_factory=list)
    readings: list[dict[str, Any]] = field(default_factory=list)
    sightings: list[dict[str, Any]] = field(default_factory=list)
    holds: list[dict[str, Any]] = field(default_factory=list)
    mishaps: list[dict[str, Any]] = field(default_factory=list)
    differing: list[int] = field(default_factory=list)

    def enter(self, act: str, person: Person, **facts: object) -> None:
        """Put an entry at the end of the chain."""
        number = len(self.entries) + 1
        previous = self.entries[-1]["digest"] if self.entries else GENESIS
        key = f"invented {number}"
        text = canonical(
            {
                "preparation": self.code,
                "number": number,
                "act": act,
                "person": person.name,
                "badge": person.badge,
                "role": person.role,
                "at": self.at.astimezone(UTC).isoformat(),
                "key": key,
                "facts": facts,
            }
        )
        self.entries.append(
            {
                "number": number,
                "act": act,
                "person_id": person.pk,
                "at": self.at,
                "key": key,
                "text": text,
                "previous": previous,
                "digest": digest(previous, text),
            }
        )

    def put(
        self,
        kind: str,
        about: dict[str, Any],
        place: int,
        started: datetime,
        taken: tuple[datetime, Person] | None = None,
    ) -> None:
        """Put a step down that ends now, by the technician or by whoever took it."""
        self.steps.append(
            {
                "place": place,
                "kind": kind,
                "about": about,
                "started_at": started,
                "taken_at": taken[0] if taken else None,
                "taken_by_id": taken[1].pk if taken else None,
                "finished_at": self.at,
                "finished_by_id": (taken[1] if taken else self.technician).pk,
                "reason": "",
            }
        )


def dated(pattern: Pattern, opened: datetime) -> dict[str, Any]:
    """Return the worksheet as of that opening: every date of it moved alike."""
    by = opened - datetime.fromisoformat(pattern.plain["started_at"])

    def moved(text: str) -> str:
        return (datetime.fromisoformat(text) + by).isoformat()

    limits = [limit | {"ends_at": moved(limit["ends_at"])} for limit in pattern.plain["limits"]]
    dates = {name: moved(pattern.plain[name]) for name in ("started_at", "beyond_use_at")}
    return {**pattern.plain, **dates, "limits": limits}
