"""The published worked examples of one kind, by their id: what is expected, and how it was come by."""

from __future__ import annotations

import json
from pathlib import Path

FILE = Path(__file__).parents[2] / "shared" / "published" / "worked_examples.json"


def examples(kind: str) -> dict[str, dict[str, str]]:
    """Return the examples of that kind with their mark and expected answer."""
    rows = json.loads(FILE.read_text(encoding="utf-8"))["rows"]
    return {
        row["id"]: {
            "mark": row["mark"],
            "expected_value": row["expected"]["value"],
            "expected_unit": row["expected"]["unit"],
        }
        for row in rows
        if row["kind"] == kind
    }
