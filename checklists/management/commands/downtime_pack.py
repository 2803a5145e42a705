"""`manage.py downtime_pack`: what is due, on paper, before network or power fail."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.template.loader import render_to_string
from django.utils import timezone

from checklists.worklists.downtime import downtime_pack

STYLES = ("reset", "tokens", "type", "layout", "parts-list", "parts-ledger", "paper", "record", "downtime")


class Command(BaseCommand):
    """Run it every so often, print it, and put it where the paper procedure lies."""

    help = "Write what is due within HOURS as sheets to print: for the maker, the checker, and the label."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the folder and how far to look ahead."""
        parser.add_argument(
            "folder", type=Path, help="where to write it; what it held of an earlier pack goes"
        )
        parser.add_argument("--hours", type=int, default=12, help="how far to look ahead (12)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write the folder."""
        folder, pack = options["folder"], downtime_pack(timezone.now(), options["hours"])
        facts = {"skeleton": "paper/alone.html", "screen": pack, "styles": STYLES}
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            for style in STYLES:
                source = settings.ROOT / "static" / "css" / f"{style}.css"
                (folder / f"{style}.css").write_bytes(source.read_bytes())
            page = render_to_string("paper/downtime.html", facts)
            (folder / "downtime.html").write_text(page, encoding="utf-8")
        except OSError as trouble:
            raise CommandError(f"It was not written: {trouble}") from trouble
        count = len(pack.orders)
        self.stdout.write(f"{folder / 'downtime.html'}: {count} order{'' if count == 1 else 's'}.")
