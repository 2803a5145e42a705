"""The export of a period: JSON that proves its own chains, CSV, and a page to print for each record.

Source: the project's own rule. Text that a spreadsheet would run is made plain: common practice, no source.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from cast import Cast, Hands, order
from tests.checklists.walks import UNLIKELY, beside, everybody, house

__all__ = ["everybody", "house"]


@pytest.fixture
def released(everybody: Cast) -> Hands:
    beside(everybody, order("ketorolac-syringe", "30 mg"))
    asked = order("vancomycin-nacl-250", UNLIKELY, ward="=1+1")
    return beside(everybody, asked).to_release()


def export(folder: Path, first: int = 0, last: int = 0) -> str:
    today, told = timezone.localdate(), io.StringIO()
    days = [(today + timedelta(days=days)).isoformat() for days in (first, last)]
    call_command("export", *days, str(folder), stdout=told)
    return told.getvalue()


def table(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_what_ended_in_the_period_is_written_whole(released: Hands, tmp_path: Path) -> None:
    folder = tmp_path / "november"
    assert export(folder) == f"{folder}: 1 record written.\n"
    assert folder.stat().st_mode & 0o077 == 0
    (one,) = json.loads((folder / "records.json").read_text(encoding="utf-8"))
    previous = "0" * 64
    for entry in one["entries"]:
        assert entry["text"] == json.loads(entry["written"])
        assert entry["previous"] == previous
        previous = hashlib.sha256(f"{previous}\n{entry['written']}".encode()).hexdigest()
        assert entry["digest"] == previous
    (line,) = table(folder / "preparations.csv")
    assert (line["preparation"], line["state"], line["last digest"]) == (released.code, "released", previous)
    assert line["ward"] == "'=1+1"
    amounts = {row["draw"]: row for row in table(folder / "amounts.csv")}
    assert [amounts["2"][name] for name in ("required mL", "drawn mL", "seen mL", "agrees")] == [
        "17.5", "17.5", "17.5", "yes",
    ]  # fmt: skip
    page = (folder / f"{released.code}.html").read_text(encoding="utf-8")
    assert "Compounding record" in page
    assert "Set an entry right" not in page
    assert "17.5 mL" in page
    assert '<link rel="stylesheet" href="record.css">' in page
    assert (folder / "record.css").exists()


def test_another_period_holds_none_of_it(released: Hands, tmp_path: Path) -> None:
    assert export(tmp_path / "before", -30, -1) == f"{tmp_path / 'before'}: 0 records written.\n"
    assert json.loads((tmp_path / "before" / "records.json").read_text()) == []


def test_what_cannot_be_done_is_said(released: Hands, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="is there already"):
        export(tmp_path)
    with pytest.raises(CommandError, match="lies before the first"):
        export(tmp_path / "new", 0, -1)
    with pytest.raises(CommandError, match="invalid"):
        call_command("export", "November", "2026-11-30", str(tmp_path / "new"))
