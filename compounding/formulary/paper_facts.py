"""A JSON file read as strictly as what people type: every key known, every amount through the reader.

Faults are collected, each with its place (`ingredient 2, dose`), so that one reading names them all. A fact
that cannot be read stands in for itself with an example; nobody uses it, for `settle` refuses the whole.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any, TypeVar

from django.utils import timezone

from compounding.reckoning import dating, quantities
from compounding.reckoning.quantities import Kind, Quantity
from compounding.reckoning.refusals import NotAnAmount, Refusal
from compounding.reckoning.units import EXAMPLES

LONGEST_TEXT = 300
LONGEST_FILE = 200_000
DAY = date(2000, 1, 1)

Word = TypeVar("Word", bound=str)


class PaperOrderRefused(Refusal):
    """A file cannot be taken as it stands; `sentences` says what to write at each place."""

    wording = "{sentences}"

    def __init__(self, sentences: Sequence[str]) -> None:
        super().__init__(sentences=" ".join(sentences))
        self.sentences = tuple(sentences)


def parsed(text: str) -> Any:
    """Return what a JSON text holds. Refuses PaperOrderRefused: overlong, no JSON, a key twice, NaN."""
    if len(text) > LONGEST_FILE:
        raise PaperOrderRefused([f"The file is too long. Write at most {LONGEST_FILE:,} characters."])
    try:
        return json.loads(text, object_pairs_hook=_object, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, character {error.colno}"
        raise PaperOrderRefused([f"The file is not JSON: {place}: {error.msg}. Correct it there."]) from error
    except (RecursionError, ValueError) as error:
        raise PaperOrderRefused(["The file holds no order. Write it as in the guide."]) from error


class Facts:
    """One JSON object of the file, read key by key. `place` names it in sentences; the file has none."""

    def __init__(self, plain: object, place: str = "", faults: list[str] | None = None) -> None:
        """Keep the object; anything but an object is a fault."""
        self.place = place
        self.faults = [] if faults is None else faults
        self.asked: set[str] = set()
        self.is_mute = False
        self.plain: dict[str, Any] = plain if isinstance(plain, dict) else {}
        if not isinstance(plain, dict):
            self._say("", "is not an object. Write it in braces, as in the guide.")
            self.is_mute = True  # what it lacks is not worth saying

    def text(self, name: str, default: str | None = None) -> str:
        """Return a text; without a default it is needed."""
        if self.is_missing(name):
            return self._needed(name, "Write it as a text.") if default is None else default
        value = self.plain[name]
        if not isinstance(value, str) or not value.strip() or not value.isprintable():
            return self._say(name, "is not a text. Write it in quotation marks, on one line.")
        if len(value) > LONGEST_TEXT:
            return self._say(name, f"has {len(value)} characters. Write at most {LONGEST_TEXT}.")
        return value.strip()

    def word(self, name: str, known: Sequence[Word], default: Word | None = None) -> Word:
        """Return one of the known words."""
        if self.is_missing(name) and default is not None:
            return default
        said = self.text(name)
        found = next((word for word in known if word == said), None)
        if found is None and said:
            self._say(name, f"cannot be “{said[:40]}”. Write {' or '.join(f'“{word}”' for word in known)}.")
        return known[0] if found is None else found

    def amount(self, name: str, kind: Kind) -> Quantity:
        """Return an amount of that kind; it is needed."""
        amount = self.amount_if_given(name, kind)
        if amount is None:
            self._needed(name, f"Write it as “{EXAMPLES[kind]}”.")
            return quantities.read(EXAMPLES[kind])
        return amount

    def amount_if_given(self, name: str, kind: Kind) -> Quantity | None:
        """Return an amount of that kind, None where the file has none."""
        if self.is_missing(name):
            return None
        value = self.plain[name]
        if not isinstance(value, str):
            self._say(name, f"is not an amount. Write it with its unit in quotes, as “{EXAMPLES[kind]}”.")
        else:
            try:
                return quantities.read(value, kind, grouping=True)
            except NotAnAmount as refusal:
                self._say(
                    name, NotAnAmount(text=refusal.facts["text"], example=EXAMPLES[kind]).sentence, ": "
                )
            except Refusal as refusal:
                self._say(name, refusal.sentence, ": ")
        return quantities.read(EXAMPLES[kind])

    def count(self, name: str, most: int, default: int | None = None) -> int:
        """Return a whole number from 1 to `most`; without a default it is needed."""
        if self.is_missing(name) and default is not None:
            return default
        value = self.plain.get(name)
        if type(value) is not int or not 1 <= value <= most:
            self._say(name, f"is not a count. Write a whole number from 1 to {most:,}, without quotes.")
            return 1
        return value

    def flag(self, name: str, default: bool | None = None) -> bool:
        """Return true or false; without a default it is needed."""
        if self.is_missing(name) and default is not None:
            return default
        value = self.plain.get(name)
        if not isinstance(value, bool):
            self._say(name, "is neither true nor false. Write one of them, without quotes.")
        return value is True

    def moment(self, name: str, default: datetime) -> datetime:
        """Return a date and time, without a zone in the site's own; a default where the file has none."""
        if self.is_missing(name):
            return default
        text = self.text(name)
        try:
            moment = datetime.fromisoformat(text)
            aware = timezone.make_aware(moment) if timezone.is_naive(moment) else moment
            dating.in_utc(aware)
        except (ValueError, OverflowError):
            self._say(name, "is not a date and time. Write it as “2026-11-25T09:00”.")
            return default
        if "T" not in text and " " not in text:
            self._say(name, "has no time. Write it as “2026-11-25T09:00”.")
        return self._believable(name, aware)

    def end(self, name: str) -> datetime:
        """Return a date as its last minute in the site's zone, or a date and time."""
        text = self.text(name)
        try:
            return self._believable(
                name, dating.end_of(date.fromisoformat(text), timezone.get_default_timezone())
            )
        except (ValueError, OverflowError):
            return self.moment(name, timezone.now())

    def part(self, name: str) -> Facts:
        """Return the object that stands there; it is needed."""
        if self.is_missing(name):
            self._needed(name, "Write it as in the guide.")
            return Facts({}, self._where(name), [])
        return Facts(self.plain[name], self._where(name), self.faults)

    def part_if_given(self, name: str) -> Facts | None:
        """Return the object that stands there, None where the file has none."""
        return None if self.is_missing(name) else self.part(name)

    def parts(self, name: str, one: str, most: int) -> list[Facts]:
        """Return the objects of a list, each called `one` and its number."""
        plain = self.plain.get(name, []) if not self.is_missing(name) else []
        if not isinstance(plain, list) or len(plain) > most:
            self._say(name, f"is not a list of at most {most}. Write it in brackets, as in the guide.")
            return []
        return [Facts(each, f"{one} {number}", self.faults) for number, each in enumerate(plain, start=1)]

    def names(self) -> list[str]:
        """Return every key of an object whose keys are names, not known words."""
        self.asked |= set(self.plain)
        return list(self.plain)

    def is_missing(self, name: str) -> bool:
        """Tell whether the file lacks a key; from here on the key is known."""
        self.asked.add(name)
        return name not in self.plain

    def done(self) -> None:
        """Refuse every key that nobody asked for."""
        for name in sorted(set(self.plain) - self.asked):
            known = ", ".join(sorted(self.asked))
            self._say("", f"has “{shown(name)}”, which is not known here. Known: {known}.", " ")

    def settle(self) -> None:
        """Refuse the whole when anything in it was at fault. Raises PaperOrderRefused."""
        if self.faults:
            raise PaperOrderRefused(self.faults)

    def _where(self, name: str) -> str:
        return ", ".join(filter(None, (self.place, shown(name)))) or "The file"

    def _say(self, name: str, sentence: str, joint: str = " ") -> str:
        where = self._where(name)
        if self.is_mute:
            return ""
        self.faults.append(f"{where[0].upper()}{where[1:]}{joint}{sentence}")
        return ""

    def _needed(self, name: str, instead: str) -> str:
        return self._say(name, f"is missing. {instead}")

    def _believable(self, name: str, moment: datetime) -> datetime:
        if not 2000 <= moment.year < 2200:
            self._say(name, "lies too far away. Write a year from 2000 to 2199.")
        return moment


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise PaperOrderRefused([f"“{shown(twice)}” stands twice in one object. Leave one of them out."])
    return dict(pairs)


def _no_constant(name: str) -> None:
    raise PaperOrderRefused([f"{name} is not a number. Write amounts as texts with their unit."])


def shown(name: str) -> str:
    """Return a key of the file as a sentence may show it: cut short, nothing hidden in it."""
    return "".join(character if character.isprintable() else "�" for character in name[:40])
