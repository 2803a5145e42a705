"""The reviewed table of pairs that must not meet, as it is kept beside the program."""

from __future__ import annotations

import json
from functools import cache

from django.conf import settings

from compounding.reckoning.incompatibility import PairTable, table_of

REVIEWED = settings.ROOT / "shared" / "published" / "incompatible_pairs.json"


@cache
def reviewed_pairs() -> PairTable:
    """Return the table, read once; a file that is missing or faulty is a fault of the installation."""
    plain = json.loads(REVIEWED.read_text(encoding="utf-8"))
    return table_of(plain["rows"], plain["groups"])
