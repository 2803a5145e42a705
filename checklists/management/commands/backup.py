"""`manage.py backup`: one file with the live database and the pictures."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from checklists.keeping import CannotKeep, back_up


class Command(BaseCommand):
    """Work goes on meanwhile. Keep the file on another machine; it holds everything about patients."""

    help = "Write a backup of the live database and the pictures to a new FILE."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the file."""
        parser.add_argument("file", type=Path, help="where to write it; must not exist")

    def handle(self, *args: Any, **options: Any) -> None:
        """Back up, or say why not."""
        try:
            count = back_up(options["file"], timezone.now())
        except (CannotKeep, OSError) as trouble:
            raise CommandError(str(trouble)) from trouble
        self.stdout.write(f"{options['file']}: {count} file{'s' if count > 1 else ''} kept.")
