"""The fields of the desk's calculators: each knows what may be typed in it and what to write instead."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as now_in_words
from django.utils.translation import gettext_lazy as _

from compounding.reckoning import quantities
from compounding.reckoning.quantities import Kind, Quantity
from compounding.reckoning.refusals import NotAnAmount, Refusal
from compounding.reckoning.units import EXAMPLES

Words = str | Promise
Choices = tuple[tuple[str, Words], ...]


class NotWritten(Refusal):
    """A field that is needed is empty. Facts: instead."""

    wording = "This is empty. Write {instead}."


class NotAMoment(Refusal):
    """A text is no date and time. Facts: text."""

    wording = "“{text}” is not a date and time. Write it as 2026-11-25T09:00."


@dataclass(frozen=True)
class Field:
    """One field: what is read from it; what was typed stays, its fault beside it."""

    name: str
    label: Words
    hint: Words
    read: Callable[[str], Any]
    type: str = "text"
    choices: Choices = ()
    typed: str = ""
    fault: str = ""


def amount(name: str, label: Words, kind: Kind, hint: Words = "") -> Field:
    """Return a field for an amount that is needed."""

    def read(text: str) -> Any:
        if not text.strip():
            example = {"example": EXAMPLES[kind]}
            raise NotWritten(instead=now_in_words("a number and its unit, such as %(example)s") % example)
        return _quantity(text, kind)

    return Field(name, label, hint or EXAMPLES[kind], read)


def amount_if_any(name: str, label: Words, kind: Kind, hint: Words) -> Field:
    """Return a field for an amount that may be left empty."""
    return Field(name, label, hint, lambda text: _quantity(text, kind) if text.strip() else None)


def _quantity(text: str, kind: Kind) -> Quantity:
    """Return what a text measures; a refusal gives an example of the kind that is wanted here."""
    try:
        return quantities.read(text, kind)
    except NotAnAmount as refused:
        raise NotAnAmount(text=refused.facts["text"], example=EXAMPLES[kind]) from refused


def choice(name: str, label: Words, choices: Choices, hint: Words = "") -> Field:
    """Return a field to choose from; nothing is chosen beforehand."""
    known = {value for value, _words in choices}
    offered = choices if "" in known else (("", _("choose")), *choices)

    def read(text: str) -> str:
        if text not in known:
            raise NotWritten(instead=now_in_words("one of those to choose from"))
        return text

    return Field(name, label, hint, read, choices=offered)


def moment(text: str) -> datetime:
    """Return a date and time in the site's zone; the present one where the field is empty."""
    if not text.strip():
        return timezone.now()
    try:
        read = datetime.fromisoformat(text.strip())
    except ValueError:
        read = None
    if read is None or not 2000 <= read.year < 2200:
        raise NotAMoment(text=text[:40])
    return timezone.make_aware(read) if timezone.is_naive(read) else read


def names(values: Sequence[str]) -> Choices:
    """Return values that are shown as they are."""
    return tuple((value, value) for value in values)
