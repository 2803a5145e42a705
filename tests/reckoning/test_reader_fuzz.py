"""Hostile strings for the reader: never a wrong amount, never an exception but its own refusals.

What is accepted is read again by a grammar of this test's own, in fractions; nothing of the program's reading
is used there. 3,000 strings a run, 120,000 with --long; seeds are fixed, so a failure can be repeated.
"""

import random
import re
from collections.abc import Callable
from fractions import Fraction

import pytest

from compounding.reckoning.quantities import Kind, read, read_number, store
from compounding.reckoning.refusals import Refusal, Unreadable

# the grammar once more: unit -> (dimension, how many of the dimension's own unit)
ATOMS = {
    "ng": ("mass", Fraction(1, 10**6)), "mcg": ("mass", Fraction(1, 1000)), "mg": ("mass", Fraction(1)),
    "g": ("mass", Fraction(1000)), "mL": ("volume", Fraction(1)), "dL": ("volume", Fraction(100)),
    "L": ("volume", Fraction(1000)), "units": ("activity", Fraction(1)), "unit": ("activity", Fraction(1)),
    "mEq": ("charge", Fraction(1)), "mmol": ("amount", Fraction(1)), "mol": ("amount", Fraction(1000)),
    "mOsmol": ("osmotic", Fraction(1)), "mOsm": ("osmotic", Fraction(1)), "kg": ("patient", Fraction(1)),
    "m2": ("surface", Fraction(1)), "cm": ("length", Fraction(1)), "m": ("length", Fraction(100)),
    "in": ("length", Fraction(254, 100)), "gtt": ("drop", Fraction(1)), "drop": ("drop", Fraction(1)),
    "drops": ("drop", Fraction(1)), "kcal": ("energy", Fraction(1)), "s": ("time", Fraction(1)),
    "second": ("time", Fraction(1)), "seconds": ("time", Fraction(1)), "min": ("time", Fraction(60)),
    "minute": ("time", Fraction(60)), "minutes": ("time", Fraction(60)), "h": ("time", Fraction(3600)),
    "hour": ("time", Fraction(3600)), "hours": ("time", Fraction(3600)), "day": ("time", Fraction(86400)),
    "days": ("time", Fraction(86400)),
}  # fmt: skip
PLAIN = re.compile(r"(0|[1-9][0-9]{0,8})(\.[0-9]{0,5}[1-9])?", re.ASCII)
GROUPED = re.compile(r"([1-9][0-9]{0,2}(?:,[0-9]{3}){1,2})(\.[0-9]{0,5}[1-9])?", re.ASCII)
# more than one space beside a stroke changes nothing
PART = r" */ *(?:[0-9.,]+ ?)?[A-Za-z][A-Za-z0-9]*"
WHOLE = re.compile(rf"([0-9.,]+) ?([A-Za-z][A-Za-z0-9]*|%)((?:{PART})*)", re.ASCII)
BELOW = re.compile(r" */ *(?:([0-9.,]+) ?)?([A-Za-z][A-Za-z0-9]*)", re.ASCII)
Meaning = tuple[Fraction, tuple[str, ...]]


def meant(text: str, grouping: bool) -> Meaning | None:
    """Return what a text means: its size and its dimensions; None for what means nothing."""
    found = WHOLE.fullmatch(text.strip(" "))
    if not found or len(text) > 40:
        return None
    size = number(found[1], grouping)
    if found[2] == "%":
        return (size * 10, ("mass", "volume")) if size and not found[3] else None
    parts = [
        (size, found[2]),
        *((number(n, grouping) if n else Fraction(1), u) for n, u in BELOW.findall(found[3])),
    ]
    if any(not size or unit not in ATOMS for size, unit in parts):
        return None
    total = Fraction(1)
    for place, (count, unit) in enumerate(parts):
        one = count * ATOMS[unit][1]
        total = total / one if place else one
    return total, tuple(ATOMS[unit][0] for _, unit in parts)


def number(text: str, grouping: bool) -> Fraction:
    """Return a number, 0 for what is none."""
    if grouping and GROUPED.fullmatch(text):
        text = text.replace(",", "")
    return Fraction(text) if PLAIN.fullmatch(text) else Fraction(0)


def stored(text: str) -> Meaning:
    """Return what the program's own lossless text means."""
    digits, _, unit = text.partition(" ")
    meaning = meant(f"1 {unit}", False)
    assert meaning, text
    return Fraction(digits) * meaning[0], meaning[1]


GOOD = (
    "500 mg", "2500 units", "0.9 %", "1 mg/mL", "1 g/10 mL", "40 mEq", "5 mcg/kg/min", "0.5 mL", "12.5 mL",
    "15 mg/kg", "75 mg/m2", "100 mL/h", "20 gtt/mL", "1000000 units/2 mL", "3.4 kcal/g", "170 cm", "62 kg",
    "10,000 units", "1,250 mg", "0.000001 g", "999999999 mg", "7 days", "30 min", "60 mL/kg/day",
)  # fmt: skip
UNITS = (
    *ATOMS, "%", "U", "IU", "u", "cc", "µg", "μg", "ug", "MG", "ML", "ml", "Mg", "kiloG", "mcL", "lb", "mg.",
    "mgs", "m²", "mg mL", "mg*mL", "mg**2", "kilounit", "dimensionless", "delta_degC", "1", "",
)  # fmt: skip
NUMBERS = (
    "1", "10", "1.0", ".5", "5.", "0.5", "00.5", "007", "0", "0.0", "-1", "+1", "1e3", "1E-3", "1_000",
    "1,000", "1,00", "1.000,5", "1,000,000", "10,00,000", "1 000", "1'000", "1/2", "½", "²",
    "\u2167", "\u0663", "\u0967\u0968", "\uff11\uff12", "\U0001d7dd",
    "1.2.3", "NaN", "inf", "Infinity", "0x10", "1000000000", "123456789.123456", "1.1234567", "∞", "1:1000",
)  # fmt: skip
JUNK = (
    " ", "  ", "\u00a0", "\u2009", "\u200b", "\u202e", "\ufeff", "\t", "\n", "\r", "\x00", "\x1d", "\u2028",
    "/", "//", " / ", ",", ".", "·", "\u066b", "\u060c", "-", "−", "+", "*", "^", "×", "(", ")", "%",
    "\ud800", "\U0001f489",
    "\u0301", "é", "'", '"', "<b>", "${x}", "{0}", "\\", "__import__('os')", "a" * 41, "9" * 60,
)  # fmt: skip


def built(chance: random.Random) -> str:
    """Return a text put together from numbers, units and what does not belong."""
    pieces = [chance.choice(NUMBERS), chance.choice((" ", "", *JUNK)), chance.choice(UNITS)]
    while chance.random() < 0.4:
        pieces += [
            chance.choice(("/", " / ", *JUNK)),
            chance.choice(("", "", *NUMBERS)),
            chance.choice(UNITS),
        ]
    return "".join(pieces)


def bent(chance: random.Random) -> str:
    """Return a good text with up to three characters changed, taken out or put in."""
    characters = list(chance.choice(GOOD))
    for _ in range(chance.randint(0, 3)):
        at = chance.randrange(len(characters)) if characters else 0
        piece = chance.choice((*JUNK, *"0123456789", *NUMBERS, *UNITS))
        how = chance.randrange(3)
        if how == 0:
            characters.insert(at, piece)
        elif characters and how == 1:
            characters[at] = piece
        elif characters:
            del characters[at]
    return "".join(characters)


def wild(chance: random.Random) -> str:
    """Return any characters at all."""
    return "".join(
        chr(chance.choice((chance.randrange(128), chance.randrange(0x110000))))
        for _ in range(chance.randint(0, 45))
    )


MAKERS: tuple[Callable[[random.Random], str], ...] = (built, bent, wild)
SEEDS = 12


def check(text: str, grouping: bool) -> bool:
    """Read a hostile text; tell whether it was accepted. A wrong amount or a strange exception fails."""
    try:
        amount = read(text, grouping=grouping)
    except Unreadable as refusal:
        told = refusal.sentence
    else:
        told = ""
    if told:
        assert len(told) < 400
        return False
    expected, found = meant(text, grouping), stored(store(amount))
    assert expected is not None, f"accepted {text!r} as {store(amount)}"
    assert found[1] == expected[1], text
    assert abs(found[0] - expected[0]) <= expected[0] / 10**24, text
    return True


@pytest.mark.parametrize("seed", range(SEEDS))
def test_hostile_strings_are_refused_or_read_as_they_stand(seed: int, times) -> None:
    chance = random.Random(seed)
    accepted = 0
    for turn in range(times(250, 10_000)):
        text = MAKERS[turn % len(MAKERS)](chance)
        accepted += check(text, grouping=turn % 2 == 0)
    assert accepted, "no string was accepted: the test tries nothing"


@pytest.mark.parametrize("text", GOOD)
def test_good_strings_are_read_and_mean_the_same_to_both(text: str) -> None:
    assert check(text, grouping=True)


def test_a_kind_asked_for_is_the_kind_that_comes(times) -> None:
    chance = random.Random(99)
    kinds = [Kind.MASS, Kind.VOLUME, Kind.EQUIVALENT, Kind.STRENGTH, Kind.DOSE, Kind.BODY_WEIGHT]
    wanted = {Kind.MASS: ("mass",), Kind.VOLUME: ("volume",), Kind.BODY_WEIGHT: ("patient",)}
    for _ in range(times(300, 5_000)):
        kind, text = chance.choice(kinds), bent(chance)
        try:
            amount = read(text, kind)
        except Refusal as refusal:
            told = refusal.sentence
        else:
            told = store(amount)
            meaning = stored(told)
            assert meaning[1] == wanted.get(kind, meaning[1])
        assert told


def test_a_keypad_takes_bare_numbers_only(times) -> None:
    chance = random.Random(7)
    for _ in range(times(500, 10_000)):
        text = chance.choice((*NUMBERS, bent(chance), wild(chance)))
        try:
            amount = read_number(text, "mL")
        except Unreadable:
            continue
        assert PLAIN.fullmatch(text.strip(" ")), text
        assert store(amount) == f"{text.strip(' ')} mL"
