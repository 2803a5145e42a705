"""Ways of writing that are known for being misread, each with the better form, as data.

Source: the ISMP list of error-prone abbreviations, symbols and dose designations, through several pages that
copy it (standards.md section 7); drug-name abbreviations and M, K, MM are from memory.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import write_number

UNIT = r"(?:mcg|mg|ng|kg|g|mL|dL|L|units?|mEq|mmol|mOsmol|kcal|gtt|cm|h|min)"
NUMBER = r"\d[\d,]*(?:\.\d+)?"


@dataclass(frozen=True)
class Form:
    """One error-prone form: how to find it, what is wrong with it, what to write instead."""

    pattern: re.Pattern[str]
    fault: str
    better: Callable[[re.Match[str]], str]


def _instead(text: str) -> Callable[[re.Match[str]], str]:
    return lambda found: found.expand(text)


def _form(pattern: str, fault: str, better: str) -> Form:
    return Form(re.compile(pattern), fault, _instead(better))


def _word(words: str, better: str, flags: str = "") -> Form:
    """Return the form for whole words; `flags` is "(?i)" where case does not matter."""
    return _form(rf"{flags}(?<![\w/.])(?:{words})(?![\w/])", "an abbreviation that is misread", better)


def _untrailed(found: re.Match[str]) -> str:
    return found[0].rstrip("0").rstrip(".")


def _grouped(found: re.Match[str]) -> str:
    return write_number(Decimal(found[0]))


NUMBERS = (
    Form(
        re.compile(r"(?<![\d.])\d[\d,]*\.\d*0(?!\d|\.\d)"),
        "a trailing zero can be read ten times too high",
        _untrailed,
    ),
    _form(r"(?<![\w.])\.(\d+)", "a naked point is overlooked", r"0.\1"),
    Form(re.compile(rf"(?<![\w.,])\d{{4,}}(?=(?:\.\d+)?\s?{UNIT}\b)"), "commas are missing", _grouped),
    _form(rf"(?<![\w.,])({NUMBER})({UNIT})(?![\w])", "number and unit run together", r"\1 \2"),
    _form(rf"([A-Za-z]{{3,}})({NUMBER})\s?({UNIT})(?!\w)", "name and number run together", r"\1 \2 \3"),
    _form(rf"(?<=\d )({UNIT})\.(?=\s*$|\s+[a-z\d]|[,;)])", "a point after a unit is misread", r"\1"),
    _form(rf"(?<![\w.])({NUMBER})\s?MM(?!\w)", "“MM” is not million to everybody", r"\1 million"),
    _form(rf"(?<![\w.])({NUMBER})\s?M(?!\w)", "“M” is thousand to some", r"\1 million or \1 thousand"),
    _form(rf"(?<![\w.])({NUMBER})\s?[Kk](?!\w)", "“K” is not thousand to everybody", r"\1 thousand"),
    _form(
        r"(?<![\w:.])1\s?:\s?(\d{1,3}(?:,\d{3})+|\d{3,})(?![\d:])",
        "a ratio strength is misread",
        r"mg per total mL",
    ),
    _form(r"(?<![\w/.])1/2(?![\d/])|½", "a fraction is misread", r"half"),
    _form(r"(?<!\w)(?:I{1,3}|VI{0,3}|I?X)(?=\s+(?:tablet|vial|dose|capsule|ampoule|drop|bag)s?\b)",
          "a Roman numeral is misread", r"1, 2, 3"),
)  # fmt: skip

UNITS = (
    _form(rf"({NUMBER})\s?[Uu](?![\w])", "misread as 0, 4 or cc", r"\1 units"),
    _form(r"(?<![\w/])(?<!\d )[Uu](?=/)", "misread as 0, 4 or cc", r"units"),
    _form(r"(?i)(?<![a-z])(?:IU|I\.U\.)(?![a-z])", "misread as IV or 10", r"units"),
    _form(r"[µμ]g", "the micro sign is misread as m", r"mcg"),
    _form(r"[µμ](?!g)\w*", "the micro sign is misread as m", r"the unit in full"),
    _form(r"(?i)(?<![a-z.])c\.?c\b\.?", "misread as u", r"mL"),
)

SIGNS = (
    _form(r"@", "misread as 2", r"at"),
    _form(r"&", "misread as 2", r"and"),
    _form(r"(?<=\s)\+(?=\s)", "misread as 4", r"and"),
    _form(r">", "turned round in reading", r"greater than"),
    _form(r"<", "turned round in reading", r"less than"),
    _form(r"°(?!\s?[CF]\b)", "misread as 0", r"hour"),
    _form(rf"({UNIT})\s?/\s?(?=\d)", "a slash before a number is misread as 1", r"\1 per "),
)

WORDS = (
    _word(r"qd|q\.d\.?", "daily", "(?i)"),
    _word(r"OD|o\.d\.?", "daily"),
    _word(r"qod|q\.o\.d\.?", "every other day", "(?i)"),
    _word(r"SC|SQ|sub\s?q|S\.C\.|sq|sc", "subcut"),
    _word(r"HS|hs", "half-strength or at bedtime, in words"),
    _word(r"BT", "at bedtime"),
    _form(r"(?<!\w)D/C(?!\w)", "an abbreviation that is misread", "discharge or discontinue, in words"),
    _word(r"IN", "intranasal"),
    _word(r"IJ", "injection"),
    _word(r"SSRI|SSI", "sliding scale insulin"),
    _word(r"SS|ss", "sliding scale or half, in words"),
    _word(r"TIW|tiw", "3 times a week"),
    _word(r"UD|u\.d\.?", "as directed"),
    _word(r"per os", "by mouth", "(?i)"),
)

DRUGS = (
    _word(r"MgSO4", "magnesium sulfate"),
    _word(r"MSO4|MS", "morphine sulfate or magnesium sulfate, in full"),
    _word(r"KCl", "potassium chloride"),
    _word(r"HCl", "hydrochloride or hydrochloric acid, in full"),
    _word(r"ARA-A", "vidarabine"),
    _word(r"BSS", "balanced salt solution"),
)

FORMS: tuple[Form, ...] = (*NUMBERS, *UNITS, *SIGNS, *WORDS, *DRUGS)
