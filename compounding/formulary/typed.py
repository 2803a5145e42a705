"""The fields of an order as somebody typed them, read one by one; every fault keeps its field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import TypedDict

from django.utils import timezone

from compounding.reckoning import quantities
from compounding.reckoning.quantities import Kind, Quantity
from compounding.reckoning.refusals import Refusal


class OrderFields(TypedDict, total=False):
    """An order as typed: text everywhere; dates `2026-11-25`, times `2026-11-25T14:30` in the site's zone.

    `formulation` is a code; `doses` has one text for each ingredient, under its `field` (`dose-1`).
    """

    formulation: str
    patient_name: str
    patient_identifier: str
    born_on: str
    allergies: str
    route: str
    body_weight: str
    weighed_on: str
    height: str
    prescriber: str
    ward: str
    units: str
    due_at: str
    reason: str
    doses: Mapping[str, str]


NAMES = {
    "formulation": ("The preparation", 40),
    "patient_name": ("The patient’s name", 80),
    "patient_identifier": ("The patient’s number", 30),
    "born_on": ("The date of birth", 10),
    "allergies": ("The allergies", 200),
    "route": ("The route", 40),
    "body_weight": ("The body weight", 40),
    "weighed_on": ("The date of weighing", 10),
    "height": ("The height", 40),
    "prescriber": ("The prescriber", 80),
    "ward": ("The ward", 60),
    "units": ("The number of units", 4),
    "due_at": ("The time it is due", 32),
    "reason": ("The reason", 200),
}


class Typed:
    """The typed fields, with the sentences for those that cannot be taken as they are."""

    def __init__(self, fields: OrderFields) -> None:
        """Keep the fields; nothing is wrong yet."""
        self.fields = fields
        self.by_field: dict[str, str] = {}

    def fault(self, name: str, sentence: str) -> None:
        """Note what is wrong with a field; the first fault of a field stands."""
        self.by_field.setdefault(name, sentence)

    def text(self, name: str, needed: str = "") -> str:
        """Return a text within its length; with `needed`, a sentence for an empty field."""
        text = str(self.fields.get(name) or "").strip()
        label, longest = NAMES[name]
        if len(text) > longest:
            self.fault(name, f"{label} has {len(text)} characters; write at most {longest}.")
            return ""
        if not text.isprintable():
            self.fault(name, f"{label} holds a character that cannot be printed. Type it again.")
            return ""
        if needed and not text:
            self.fault(name, needed)
        return text

    def amount(self, name: str, kind: Kind, within: tuple[str, str]) -> Quantity | None:
        """Return an amount of that kind within plausible bounds, None where the field is empty."""
        text = self.text(name)
        amount = self.quantity(name, text, kind) if text else None
        if amount is not None and not quantities.read(within[0]) <= amount <= quantities.read(within[1]):
            self.fault(name, f"{NAMES[name][0]} cannot be {text}. Write {within[0]} to {within[1]}.")
            return None
        return amount

    def quantity(self, name: str, text: str, kind: Kind) -> Quantity | None:
        """Return what a text measures, in the reader's words where it does not."""
        try:
            return quantities.read(text, kind)
        except Refusal as refusal:
            self.fault(name, refusal.sentence)
            return None

    def day(self, name: str, earliest: date, latest: date) -> date | None:
        """Return a date in that range, None where the field is empty."""
        text = self.text(name)
        if not text:
            return None
        try:
            day = date.fromisoformat(text)
        except ValueError:
            self.fault(name, f"{NAMES[name][0]} “{text}” is not a date. Write it as 2026-11-25.")
            return None
        if not earliest <= day <= latest:
            self.fault(name, f"{NAMES[name][0]} must lie between {earliest} and {latest}.")
            return None
        return day

    def moment(self, name: str, earliest: datetime, latest: datetime) -> datetime | None:
        """Return a date and time in that range; without a zone it is the site's own."""
        text = self.text(name, f"{NAMES[name][0]} is missing. Write date and time as 2026-11-25 14:30.")
        if not text:
            return None
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            moment = None
        if moment is None or not re.match(r"[0-9-]+[T ][0-9]", text):
            self.fault(name, f"{NAMES[name][0]} “{text}” is not a date and time. Write 2026-11-25 14:30.")
            return None
        if timezone.is_naive(moment):
            moment = timezone.make_aware(moment, timezone.get_default_timezone())
        if not earliest <= moment <= latest:
            local = [timezone.localtime(end).strftime("%Y-%m-%d %H:%M") for end in (earliest, latest)]
            self.fault(name, f"{NAMES[name][0]} must lie between {local[0]} and {local[1]}.")
            return None
        return moment

    def count(self, name: str, most: int) -> int:
        """Return a whole number from 1 to `most`; 1 where it cannot be taken."""
        text = self.text(name, f"{NAMES[name][0]} is missing. Write 1 for a single one.")
        if text and not (re.fullmatch("[0-9]{1,4}", text) and 1 <= int(text) <= most):
            upto = f"a whole number from 1 to {most}" if most > 1 else "1: this preparation is made singly"
            self.fault(name, f"{NAMES[name][0]} cannot be {text}. Write {upto}.")
            return 1
        return int(text or 1)
