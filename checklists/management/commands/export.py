"""`manage.py export`: the records of a period as JSON, CSV and pages to print."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.template.loader import render_to_string
from django.utils import timezone

from checklists.models import Preparation
from checklists.worklists import period, records

STYLES = ("reset", "tokens", "type", "layout", "parts-list", "parts-ledger", "paper", "record")


class Command(BaseCommand):
    """What is written is about patients: keep it where only the right people come."""

    help = (
        "Write the records of everything that ended from SINCE to UNTIL (days, both within) to a new FOLDER."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the days and the folder."""
        parser.add_argument("since", type=date.fromisoformat, help="first day, such as 2026-11-01")
        parser.add_argument("until", type=date.fromisoformat, help="last day, such as 2026-11-30")
        parser.add_argument("folder", type=Path, help="where to write it; must not exist")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write the folder."""
        since, until, folder = options["since"], options["until"], options["folder"]
        if until < since:
            raise CommandError("The last day lies before the first.")
        found = period.ended_between(_midnight(since), _midnight(until + timedelta(days=1)))
        try:
            folder.mkdir(mode=0o700, parents=True)
            _write(folder, found)
        except FileExistsError as trouble:
            raise CommandError(f"{folder} is there already. Name a new folder.") from trouble
        except OSError as trouble:
            raise CommandError(f"It was not written: {trouble}") from trouble
        self.stdout.write(f"{folder}: {len(found)} record{'' if len(found) == 1 else 's'} written.")


def _write(folder: Path, found: list[Preparation]) -> None:
    whole = json.dumps([period.whole(one) for one in found], indent=1, ensure_ascii=False)
    (folder / "records.json").write_text(whole, encoding="utf-8")
    _table(folder / "preparations.csv", period.preparation_rows(found))
    _table(folder / "amounts.csv", period.amount_rows(found))
    for style in STYLES:
        (folder / f"{style}.css").write_bytes(
            (settings.ROOT / "static" / "css" / f"{style}.css").read_bytes()
        )
    for one in found:
        facts = {"skeleton": "paper/alone.html", "screen": records.record(one), "styles": STYLES}
        page = render_to_string("paper/record.html", facts)
        (folder / f"{one.code}.html").write_text(page, encoding="utf-8")


def _table(file: Path, rows: Iterator[period.Row]) -> None:
    with file.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))
