"""`manage.py restore`: bring a backup back, and verify every record of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from checklists.keeping import CannotKeep, restore
from checklists.sealing import checkpoint_faults


class Command(BaseCommand):
    """What was in the data folder is set aside, not deleted. Stop the server first."""

    help = "Bring the backup FILE back into the data folder, and verify it. Stop the server first."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the file."""
        parser.add_argument("file", type=Path, help="what `manage.py backup` wrote")

    def handle(self, *args: Any, **options: Any) -> None:
        """Restore and verify, or say why not."""
        try:
            manifest = restore(options["file"])
        except (CannotKeep, OSError) as trouble:
            raise CommandError(str(trouble)) from trouble
        self.stdout.write(f"Restored as it stood at {manifest['at']}, written by {manifest['program']}.")
        call_command("migrate", verbosity=0)
        call_command("verify_records", stdout=self.stdout, stderr=self.stderr)
        faults = list(checkpoint_faults(manifest["checkpoint"]))
        if faults:
            raise CommandError(f"It does not lead through its own checkpoint: {'; '.join(faults)}")
