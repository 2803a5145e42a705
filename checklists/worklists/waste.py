"""Accounting for what is left of a controlled medicine: the page of it, and its lines in the record."""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse

from checklists.controlled import ACT, Remainder, remainders
from checklists.models import Preparation
from checklists.worklists.identity import identity
from checklists.worklists.screens import Identity
from compounding.reckoning.quantities import of, write
from compounding.reckoning.worksheet import from_plain


@dataclass(frozen=True)
class WasteRow:
    """One container: what it is and held, and the amount typed. What should be left is not told before."""

    field: str
    container: str
    name: str
    lot: str
    full: str
    is_destroyed: bool
    typed: str
    fault: str


@dataclass(frozen=True)
class WasteScreen:
    """The page on which waste is accounted for, with a witness."""

    identity: Identity
    rows: tuple[WasteRow, ...]
    key: str
    act_url: str
    is_in_work: bool
    refusal: str
    reason: str
    badge: str


@dataclass(frozen=True)
class WasteLine:
    """One container as the record tells it."""

    container: str
    reckoned: str
    measured: str
    by: str
    witness: str
    reason: str
    at: datetime


def field_of(container: str) -> str:
    """Return the name under which an amount is typed: `waste-vial-1`."""
    return f"waste-{container.replace(' ', '-')}"


def screen(
    preparation: Preparation, *, typed: Mapping[str, str], faults: Mapping[str, str], refusal: str = ""
) -> WasteScreen:
    """Return the page, with what was typed a moment ago still on it; never a PIN."""
    return WasteScreen(
        identity=identity(preparation, from_plain(preparation.worksheet)),
        rows=tuple(_row(one, typed, faults) for one in remainders(preparation)),
        key=secrets.token_hex(16),
        act_url=reverse("account_for_waste", args=[preparation.code]),
        is_in_work=preparation.state == Preparation.State.IN_WORK,
        refusal=refusal,
        reason=typed.get("reason", ""),
        badge=typed.get("badge", ""),
    )


def _row(one: Remainder, typed: Mapping[str, str], faults: Mapping[str, str]) -> WasteRow:
    name = field_of(one.container)
    return WasteRow(
        field=name,
        container=one.container,
        name=one.name,
        lot=one.lot,
        full=write(of(one.full, "mL"), 2),
        is_destroyed=one.waste > 0,
        typed=typed.get(name, ""),
        fault=faults.get(one.container, ""),
    )


def lines(preparation: Preparation) -> tuple[WasteLine, ...]:
    """Return what was accounted for, each time it was."""
    found = []
    for entry in preparation.entries.filter(act=ACT).select_related("person"):
        facts = json.loads(entry.text)["facts"]
        for key, reckoned in facts["reckoned"].items():
            found.append(
                WasteLine(
                    key, reckoned, facts["measured"][key], entry.person.name, facts["witness"],
                    facts["reason"], entry.at,
                )
            )  # fmt: skip
    return tuple(found)
