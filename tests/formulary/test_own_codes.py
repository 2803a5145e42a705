"""Our own codes: what is read back, and that no slip of one character or of two neighbours passes.

Source of the alphabet: Crockford's base-32 (memory). The check character is our own: tested by exhaustion.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.formulary import codes
from compounding.formulary.codes import ALPHABET, Kind, OwnCode
from compounding.formulary.refusals import CodeMistyped, NotACode

LETTERS = [kind.value for kind in Kind]
SAMPLES = [codes.make(letter, number) for letter in LETTERS for number in (0, 1, 12345, 31**7, 32**7 - 1)]


def is_read(text: str) -> bool:
    try:
        codes.read(text)
    except (NotACode, CodeMistyped):
        return False
    return True


@given(st.sampled_from(LETTERS), st.integers(0, 32**7 - 1))
def test_a_code_is_read_back(letter: str, number: int) -> None:
    code = codes.make(letter, number)
    assert codes.read(code) == OwnCode(letter, code)
    assert codes.read(codes.grouped(code).lower()) == OwnCode(letter, code)


@given(st.binary(min_size=5, max_size=16))
def test_random_bytes_make_a_code(chance: bytes) -> None:
    assert codes.make("R", chance) == codes.make("R", int.from_bytes(chance) % 32**7)


@pytest.mark.parametrize("code", SAMPLES)
def test_every_single_wrong_character_is_found(code: str) -> None:
    wrong = [
        code[:place] + other + code[place + 1 :]
        for place in range(len(code))
        for other in (LETTERS if place == 0 else ALPHABET)
        if other != code[place]
    ]
    assert len(wrong) == len(LETTERS) - 1 + 8 * 31
    assert not [text for text in wrong if is_read(text)]


@pytest.mark.parametrize("code", SAMPLES)
def test_every_exchange_of_two_characters_is_found(code: str) -> None:
    for first in range(len(code)):
        for second in range(first + 1, len(code)):
            swapped = list(code)
            swapped[first], swapped[second] = swapped[second], swapped[first]
            if "".join(swapped) != code:
                assert not is_read("".join(swapped))


@given(st.sampled_from(LETTERS), st.integers(0, 32**7 - 1), st.integers(0, 7))
def test_every_exchange_of_neighbours_is_found(letter: str, number: int, place: int) -> None:
    code = codes.make(letter, number)
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    assert swapped == code or not is_read(swapped)


def test_look_alike_characters_and_spaces_are_forgiven() -> None:
    code = codes.make("P", 32 * 0 + 1)  # P 0000 001 and its check character
    assert codes.read(f" p ooo-o ool{code[-1]} ".replace("-", "")) == OwnCode("P", code)
    assert codes.read(f"P 0000 00i{code[-1]}").code == code


def test_a_code_is_shown_in_groups_of_four() -> None:
    code = codes.make("P", 12345)
    assert codes.grouped(code) == f"P {code[1:5]} {code[5:]}"


@pytest.mark.parametrize(
    "text", ["", "P", "X0000C1SS", "P0000C1S", "P0000C1SSS", "P0000U1SS", "P0000C1Ä", "9" * 500]
)
def test_what_has_not_the_form_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(NotACode, match="R 4K7Q 2M9D"):
        codes.read(text)


def test_a_mistyped_code_says_so() -> None:
    code = codes.make("B", 77)
    with pytest.raises(CodeMistyped, match="wrong character"):
        codes.read(code[:-1] + ("0" if code[-1] != "0" else "1"))
