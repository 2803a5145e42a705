"""A product's GS1 code taken apart: product number, expiry, lot, serial number. Pure.

biip does the taking apart; its known gaps are closed here: product, expiry and lot must all be there, check
digits must fit, a separator that a scanner left out is found, the bracketed form that people read and type
is read too. Sources: standards.md section 8 (page and memory), stack.md section 4 (tried).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

import biip
from biip import ParseConfig
from biip.gs1_messages import GS1Message

from compounding.formulary.gtins import check_digit, is_gtin
from compounding.formulary.refusals import (
    ExpiryUnreadable,
    GtinMistyped,
    IncompleteScan,
    NotAProductScan,
    ProductNumberOnly,
    ScanUnreadable,
    SeparatorLost,
)

SEPARATOR = "\x1d"
PREFIXES = ("]d2", "]C1", "]Q3")
WANTED = {"01": "product number", "17": "expiry", "10": "lot"}
BRACKETED = re.compile(r"\(([0-9]{2,4})\)([^()]*)")
EXPIRY_FIRST = re.compile(r"01[0-9]{14}17([0-9]{6})")
RAN_ON = {"17": re.compile(r"17[0-9]{6}"), "10": re.compile(r".10."), "01": re.compile(r"01[0-9]{14}")}


@dataclass(frozen=True)
class ProductScan:
    """What a product's code says. `expires_on` is the month's last day where the code gives day 00."""

    gtin: str
    lot: str
    expires_on: date
    serial: str
    raw: str


def read(text: str) -> ProductScan:
    """Return what a product's code says. `text` is printable but for separators; whatever else is refused."""
    message = _without_brackets(text) if text.startswith("(") else _without_prefix(text)
    if not message.startswith(tuple(WANTED)) or _is_bare_number(message):
        raise _not_gs1(text, message)
    parts = _parts(message)
    _refuse_incomplete(text, parts)
    if not is_gtin(parts["01"]):
        raise GtinMistyped(gtin=parts["01"])
    return ProductScan(parts["01"], parts["10"], _expiry(parts["17"]), parts.get("21", ""), text)


def written(gtin: str, lot: str, expires_on: date, serial: str = "") -> str:
    """Return the text of the square code that a container with these facts carries."""
    tail = f"{SEPARATOR}21{serial}" if serial else ""
    return f"01{gtin}17{expires_on:%y%m%d}10{lot}{tail}"


def shown(text: str) -> str:
    """Return a scanned text as a sentence may show it: cut short, separators visible."""
    return text[:40].replace(SEPARATOR, "␝")


def _without_prefix(text: str) -> str:
    prefix = next((known for known in PREFIXES if text.startswith(known)), "")
    return text.removeprefix(prefix).strip(SEPARATOR)


def _without_brackets(text: str) -> str:
    pieces = BRACKETED.findall(text)
    if "".join(f"({number}){value}" for number, value in pieces) != text:
        raise ScanUnreadable(scanned=shown(text))
    for number, value in pieces:
        if number == "17" and not re.fullmatch("[0-9]{6}", value.strip(" ")):
            raise ExpiryUnreadable(expiry=value[:20])
    return SEPARATOR.join(number + value.strip(" ") for number, value in pieces)


def _is_bare_number(message: str) -> bool:
    return message.isdigit() and len(message) in {8, 12, 13, 14}


def _not_gs1(text: str, message: str) -> NotAProductScan | ProductNumberOnly:
    is_number = _is_bare_number(message) and int(message[-1]) == check_digit(message[:-1])
    return ProductNumberOnly(scanned=message) if is_number else NotAProductScan(scanned=shown(text))


def _parts(message: str) -> dict[str, str]:
    """Return what each application identifier says; refuse one that says two things."""
    parsed = biip.parse(message, config=ParseConfig(gs1_element_strings_verify_date=False)).gs1_message
    if parsed is None:
        raise _unreadable(message)
    parts: dict[str, str] = {}
    for number, value in _elements(parsed):
        if parts.setdefault(number, value) != value:
            raise ScanUnreadable(scanned=shown(message))
    return parts


def _elements(message: GS1Message) -> list[tuple[str, str]]:
    return [(element.ai.ai, element.value) for element in message.element_strings]


def _unreadable(message: str) -> ExpiryUnreadable | ScanUnreadable:
    expiry = EXPIRY_FIRST.match(message)
    if expiry and not _is_month(expiry[1]):
        return ExpiryUnreadable(expiry=expiry[1])
    return ScanUnreadable(scanned=shown(message))


def _is_month(expiry: str) -> bool:
    return 1 <= int(expiry[2:4]) <= 12 and int(expiry[4:]) <= 31


def _refuse_incomplete(text: str, parts: dict[str, str]) -> None:
    for number, what in WANTED.items():
        if number in parts:
            continue
        for free in (parts.get("10", ""), parts.get("21", "")):
            if RAN_ON[number].search(free):
                raise SeparatorLost(run_on=free)
        raise IncompleteScan(scanned=shown(text), missing=what)


def _expiry(text: str) -> date:
    try:
        parsed = biip.parse(f"17{text}").gs1_message
        found = parsed.element_strings[0].date if parsed else None
    except ValueError:
        found = None
    if found is None:
        raise ExpiryUnreadable(expiry=text)
    return found
