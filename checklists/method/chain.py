"""An entry's canonical text and digest: the same for the record that writes and the audit that reads."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

#: What the first entry of a preparation names as the digest before it.
GENESIS = "0" * 64


def canonical(facts: Mapping[str, object]) -> str:
    """Return the one text of `facts`: JSON with sorted keys and no spare spaces.

    Only text, whole numbers, booleans, None, and lists or mappings of them: a number with a fraction
    must come as text, so that no reader can round it.
    """
    _refuse_fractions(facts)
    return json.dumps(facts, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def digest(previous: str, text: str) -> str:
    """Return the SHA-256 of an entry: its text bound to the digest of the entry before it."""
    return hashlib.sha256(f"{previous}\n{text}".encode()).hexdigest()


def fingerprint(facts: Mapping[str, object]) -> str:
    """Return the SHA-256 of plain facts that stand by themselves, such as a label's words."""
    return digest(GENESIS, canonical(facts))


def _refuse_fractions(value: object) -> None:
    if value is None or isinstance(value, str | int):
        return
    if isinstance(value, Mapping):
        for inner in value.values():
            _refuse_fractions(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            _refuse_fractions(inner)
    else:
        raise TypeError(f"{type(value).__name__} has no canonical text; write it as text")
