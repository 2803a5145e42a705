"""Reading an amount that a person typed or a file holds: text in, a number and a unit code out.

The grammar is small on purpose: digits, at most one point, a unit from the list. Whatever else comes is
refused with a sentence; but for spaces at the ends nothing is dropped, folded or guessed. Rules of writing:
ISMP list of error-prone abbreviations, symbols and dose designations (standards.md section 7).
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal

from compounding.reckoning.refusals import (
    CommaInNumber,
    NakedPoint,
    NotAnAmount,
    NotPositive,
    RatioStrength,
    StrangeCharacter,
    TooLong,
    TrailingZero,
    UnknownUnit,
    UnsafeUnit,
)
from compounding.reckoning.units import CODES

MOST_CHARACTERS = 40
_NUMBER = re.compile(r"([0-9]{1,9})(?:\.([0-9]{1,6}))?", re.ASCII)
_GROUPED = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]{1,6})?", re.ASCII)
_AMOUNT = re.compile(r"([^ A-Za-z%/]+) ?([A-Za-z%][A-Za-z0-9]*)((?: ?/ ?[^/]+)*)", re.ASCII)
_BELOW = re.compile(r"(?:([0-9.,]+) ?)?([A-Za-z][A-Za-z0-9]*)", re.ASCII)

_UNSAFE = {
    "U": "units", "u": "units", "IU": "units", "iu": "units", "Iu": "units",
    "MU": "units, with the number in full", "M": "the number in full", "K": "the number in full",
    "cc": "mL", "CC": "mL", "cu": "mL", "ug": "mcg", "mgm": "mg", "gm": "g", "gms": "g",
    "lb": "kg, the weight in kilograms", "lbs": "kg, the weight in kilograms",
    "hr": "h", "hrs": "h", "sec": "s", "d": "days",
}  # fmt: skip
_BY_CASE = {code.casefold(): code for code in CODES}


def read_amount(text: str, grouping: bool = False) -> tuple[Decimal, str]:
    """Return the number and the unit code of a text such as `500 mg` or `1 g/10 mL`.

    With `grouping`, thousands may stand in proper groups of three (`2,500 units`): files only, never typing.
    Raises the Unreadable refusals.
    """
    text = _plain(text)
    if re.fullmatch(r"[0-9.,]+ ?: ?[0-9.,]+", text):
        raise RatioStrength(text=text)
    match = _AMOUNT.fullmatch(text)
    if match is None:
        raise _unlike(text)
    number = _number(match[1], grouping)
    divisor, code = _unit(match[2], match[3], grouping)
    return number / divisor, code


def read_plain_number(text: str, grouping: bool = False) -> Decimal:
    """Return a number typed without its unit, as on a keypad: `2.5`. Raises the Unreadable refusals."""
    return _number(_plain(text), grouping)


def _plain(text: str) -> str:
    """Return the text without spaces at its ends; refuse the overlong and what is not plain ASCII."""
    if len(text) > MOST_CHARACTERS:
        raise TooLong(most=str(MOST_CHARACTERS))
    text = text.strip(" ")
    for character in text:
        if not " " <= character <= "~":
            raise _strange(character)
    if not text:
        raise NotAnAmount(text="", example="500 mg")
    return text


def _strange(character: str) -> StrangeCharacter:
    """Return the refusal of one character, saying what to write for it."""
    name = unicodedata.name(character, f"character number {ord(character)}").lower()
    if character in "µμ":
        return StrangeCharacter(name=name, better="Write mcg for micrograms.")
    if unicodedata.category(character).startswith("Z"):
        return StrangeCharacter(name=name, better="Write an ordinary space between number and unit.")
    if unicodedata.decimal(character, None) is not None:
        return StrangeCharacter(name=name, better="Write the digits 0 to 9.")
    return StrangeCharacter(name=name, better="Write for example 500 mg.")


def _unlike(text: str) -> NotAnAmount | NotPositive:
    """Return the refusal of a text that has not the shape of an amount."""
    if text[0] in "-+":
        return NotPositive(text=text)
    if text[0] in "0123456789" and re.fullmatch(r"[0-9.,]+", text):
        return NotAnAmount(text=text, example=f"{text.strip('.,')} mg, with its unit")
    return NotAnAmount(text=text, example="500 mg")


def _number(text: str, grouping: bool) -> Decimal:
    """Return the number of a text; say what is wrong with it otherwise."""
    if grouping and _GROUPED.fullmatch(text):
        text = text.replace(",", "")
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise _wrong_number(text)
    whole, decimals = match[1], match[2] or ""
    if len(whole) > 1 and whole[0] == "0":
        raise NotAnAmount(text=text, example=f"{whole.lstrip('0') or '0'}, without a zero in front")
    if not (whole + decimals).strip("0"):
        raise NotPositive(text=text)
    if decimals.endswith("0"):
        raise TrailingZero(text=text, better=text.rstrip("0").rstrip("."))
    return Decimal(text)


def _wrong_number(text: str) -> NakedPoint | CommaInNumber | NotPositive | NotAnAmount:
    """Return the refusal that says what is wrong with a number."""
    if re.fullmatch(r"[0-9]*(,[0-9]*)+(\.[0-9]*)?", text):
        return CommaInNumber(text=text)
    if re.fullmatch(r"\.[0-9]+", text):
        return NakedPoint(text=text, better=f"0{text}")
    if re.fullmatch(r"[0-9]+\.", text):
        return NakedPoint(text=text, better=text[:-1])
    if text[:1] in ("-", "+"):
        return NotPositive(text=text)
    return NotAnAmount(text=text, example="500 or 2.5, with at most 9 digits before and 6 after the point")


def _unit(first: str, rest: str, grouping: bool) -> tuple[Decimal, str]:
    """Return what the number is divided by (`/10 mL` gives 10) and the unit code."""
    divisor, codes = Decimal(1), [_atom(first)]
    for part in rest.split("/")[1:]:
        match = _BELOW.fullmatch(part.strip(" "))
        if match is None:
            raise UnknownUnit(unit=first + rest, better="Write for example mg/mL.")
        if match[1] is not None:
            divisor *= _number(match[1], grouping)
        codes.append(_atom(match[2]))
    code = "/".join(codes)
    if code not in CODES:
        raise UnknownUnit(unit=code, better="Write for example mg, mL, units, mEq, mg/mL or mg/kg.")
    return divisor, code


def _atom(code: str) -> str:
    """Return one unit code from the list; say what to write instead of any other."""
    if code in _UNSAFE:
        raise UnsafeUnit(unit=code, better=_UNSAFE[code])
    if code in CODES:
        return code
    better = _BY_CASE.get(code.casefold())
    raise UnknownUnit(
        unit=code, better=f"Write {better}." if better else "Write for example mg, mL, units or mEq."
    )
