"""Two hundred element strings, spoilt as scanners, printers and other trades do: refused, or read right.

What spoils them: stack.md section 4 (tried) and standards.md section 8 (page; separators from memory). Read
right means: the very lot that was meant, its own expiry and serial number, after the shelf has been asked.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator

import pytest

from compounding.formulary import scanning
from compounding.formulary.gs1 import SEPARATOR as GS
from compounding.formulary.models import Lot, Product
from compounding.reckoning.refusals import Refusal
from tests.formulary.fixed import NOW

pytestmark = pytest.mark.usefixtures("shelf")

SERIAL = "S0041"
#: Identifiers that other trades put into the same square, with values of the right form.
FOREIGN = (
    "11240101",
    "3103001250",
    "37500",
    "421840123",
    "8005000365",
    "99ward6",
    "240CAT7",
    "7003271130 1200",
)
Parts = list[str]
Mutation = Callable[[random.Random, Parts], str]


def whole(parts: Parts) -> str:
    """Write the parts as they are: a separator after each of variable length but the last."""
    return "".join(p + (GS if p[:2] in ("10", "21") and p is not parts[-1] else "") for p in parts)


def lost_separator(chance: random.Random, parts: Parts) -> str:
    chance.shuffle(parts)
    return whole(parts).replace(GS, "")


def moved_separator(chance: random.Random, parts: Parts) -> str:
    text = whole(parts).replace(GS, "")
    at = chance.randrange(1, len(text))
    return text[:at] + GS + text[at:]


def wrong_digit(chance: random.Random, parts: Parts) -> str:
    at = chance.randrange(2, 16)
    other = chance.choice([digit for digit in "0123456789" if digit != parts[0][at]])
    parts[0] = parts[0][:at] + other + parts[0][at + 1 :]
    return whole(parts)


def changed_places(chance: random.Random, parts: Parts) -> str:
    at = chance.randrange(2, 15)
    parts[0] = parts[0][:at] + parts[0][at + 1] + parts[0][at] + parts[0][at + 2 :]
    return whole(parts)


def impossible_date(chance: random.Random, parts: Parts) -> str:
    day = chance.choice(
        ("271331", "270230", "271131", "270001", "279999", "27113", "2711300", "ABCDEF", "270732")
    )
    parts[1] = f"17{day}"
    return whole(parts)


def other_date(chance: random.Random, parts: Parts) -> str:
    parts[1] = f"17{chance.choice(('290101', '310630', '250101', '280229'))}"
    return whole(parts)


def foreign_parts(chance: random.Random, parts: Parts) -> str:
    parts.insert(chance.randrange(len(parts)), chance.choice(FOREIGN) + GS)
    return whole(parts)


def cut_off(chance: random.Random, parts: Parts) -> str:
    text = whole(parts)
    return text[: chance.randrange(4, len(text))]


def one_character(chance: random.Random, parts: Parts) -> str:
    text = whole(parts)
    at = chance.randrange(len(text))
    return text[:at] + chance.choice("0123456789ABCXYZ-/ ~") + text[at + 1 :]


def said_twice(chance: random.Random, parts: Parts) -> str:
    parts.append(chance.choice(("10OTHER", "17291231", parts[0], parts[2])))
    return whole(parts)


def another_trades_code(chance: random.Random, parts: Parts) -> str:
    return chance.choice(
        (parts[0][2:], parts[0][3:], f"]E0{parts[0][3:]}", "https://id.gs1.invalid/01/" + parts[0][2:],
         f"00{parts[0][2:]}0012", "WIFI:S:ward;T:WPA;P:x;;", f"]d1{whole(parts)}", f"02{parts[0][2:]}3712")
    )  # fmt: skip


MUTATIONS: tuple[Mutation, ...] = (
    lost_separator, moved_separator, wrong_digit, changed_places, impossible_date, other_date, foreign_parts,
    cut_off, one_character, said_twice, another_trades_code,
)  # fmt: skip


#: Nothing checks the characters of a serial number: it names one container, not what is in it.
SPOIL_SERIAL = ("one_character", "moved_separator", "cut_off")


def spoilt(lot: Lot, count: int) -> Iterator[tuple[str, str]]:
    """Yield so many spoilt texts of one lot's container, with what spoilt each; the same on every day."""
    chance = random.Random(417)
    for number in range(count):
        parts = [
            f"01{lot.product.gtin}",
            f"17{lot.expires_on:%y%m%d}",
            f"10{lot.number}",
            *([f"21{SERIAL}"] if number % 3 else []),
        ]
        mutation = MUTATIONS[number % len(MUTATIONS)]
        prefix = ("", "]d2", "]C1")[number % 3]
        yield mutation.__name__, prefix + mutation(chance, parts)


def test_two_hundred_spoilt_codes_are_refused_or_read_right(times: Callable[[int, int], int]) -> None:
    lot = Lot.objects.select_related("product").get(number="HV2311")
    wanted: Product = lot.product
    refused: Counter[str] = Counter()
    misread, right = [], 0
    for how, text in spoilt(lot, times(200, 20_000)):
        try:
            scan = scanning.read_product(text)
            found = scanning.match_lot(scan, wanted, NOW)
        except Refusal as refusal:
            refused[type(refusal).__name__] += 1
            continue
        is_right = (found, scan.expires_on) == (lot, lot.expires_on)
        if is_right and (scan.serial in (SERIAL, "") or how in SPOIL_SERIAL):
            right += 1
        else:
            misread.append((how, text, scan))
    assert misread == [], misread[:5]
    assert right > 10
    assert len(refused) >= 8, refused
