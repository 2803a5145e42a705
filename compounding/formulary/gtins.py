"""GTIN check digits (GS1 General Specifications: from the right, weights 3, 1, 3, 1 …)."""

from __future__ import annotations

from django.core.exceptions import ValidationError

GTIN_DIGITS = 14


def check_digit(digits: str) -> int:
    """Return the check digit that completes `digits`."""
    weighed = sum(int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(reversed(digits)))
    return -weighed % 10


def is_gtin(text: str) -> bool:
    """Say whether `text` is 14 digits that end in their check digit."""
    is_digits = len(text) == GTIN_DIGITS and text.isascii() and text.isdigit()
    return is_digits and int(text[-1]) == check_digit(text[:-1])


def refuse_bad_gtin(text: str) -> None:
    """Refuse a product number whose check digit does not fit."""
    if not is_gtin(text):
        raise ValidationError(
            f"{text} is not a GTIN: write the 14 digits under the barcode; the last must fit the others.",
            code="not-a-gtin",
        )
