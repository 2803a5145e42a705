"""Our own codes: a letter for the kind, seven characters, a check character. Pure.

Crockford base-32 leaves out I, L, O and U; whoever reads O, I or L aloud or by eye is understood. The
check character makes a weighted sum over the field of 32 elements vanish (weights are powers of a
generator), so one wrong character, or two that changed places, can never pass unseen.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from compounding.formulary.refusals import CodeMistyped, NotACode

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
READ_AS = str.maketrans("OIL", "011")
SPACES = str.maketrans("", "", " -\u00a0\t\r\n")
BODY = 7
LENGTH = BODY + 2
LONGEST_READ = 40
MODULUS = 0b100101  # x^5 + x^2 + 1, whose root generates every element but zero


class Kind(StrEnum):
    """What a code of ours stands on."""

    PREPARATION = "P"
    BADGE = "B"
    HOOD = "H"
    ORDER = "R"
    LABEL = "L"
    DONE = "D"
    CONTAINER = "C"


NAMES = {
    Kind.PREPARATION: "the code of a preparation",
    Kind.BADGE: "a badge",
    Kind.HOOD: "the code of a hood",
    Kind.ORDER: "the code of an order",
    Kind.LABEL: "the code of a label",
    Kind.DONE: "the “done” card",
    Kind.CONTAINER: "the code of an opened container",
}


@dataclass(frozen=True)
class OwnCode:
    """A code of ours that was read: `code` is the whole of it, kind letter first, without spaces."""

    letter: str
    code: str


def make(letter: str, number: int | bytes) -> str:
    """Return the code of that kind for a number or random bytes (the last 35 bits count)."""
    if isinstance(number, bytes):
        number = int.from_bytes(number)
    kind = Kind(letter)
    body = "".join(ALPHABET[number >> 5 * place & 31] for place in reversed(range(BODY)))
    return f"{kind.value}{body}{_check_character(kind, body)}"


def read(text: str) -> OwnCode:
    """Return the code that `text` writes, forgiving of spaces, case and look-alike characters.

    Raises NotACode when it has not the form of one, CodeMistyped when its check character does not fit.
    """
    squeezed = text[:LONGEST_READ].upper().translate(SPACES)
    letter, rest = squeezed[:1], squeezed[1:].translate(READ_AS)
    if letter not in set(Kind) or len(squeezed) != LENGTH or not set(rest) <= set(ALPHABET):
        raise NotACode(scanned=text[:LONGEST_READ])
    if _check_character(Kind(letter), rest[:-1]) != rest[-1]:
        raise CodeMistyped(scanned=text[:LONGEST_READ])
    return OwnCode(letter, letter + rest)


def looks_like_one(text: str) -> bool:
    """Say whether `text` begins as a code of ours does: a kind letter and more letters or digits."""
    squeezed = text.strip().upper()
    return squeezed[:1] in set(Kind)


def done_card() -> str:
    """Return the code of the “done” card: one for every card of every site, as it only stands for a press."""
    return make(Kind.DONE, 0)


def grouped(code: str) -> str:
    """Return a code as it is shown: `P K7QF 2M9D`."""
    return f"{code[0]} {code[1:5]} {code[5:]}"


def _check_character(kind: Kind, body: str) -> str:
    total = 0
    for character in kind.value.translate(READ_AS) + body:
        total = _times_generator(total ^ ALPHABET.index(character))
    return ALPHABET[total]


def _times_generator(element: int) -> int:
    doubled = element << 1
    return doubled ^ MODULUS if doubled & 32 else doubled
