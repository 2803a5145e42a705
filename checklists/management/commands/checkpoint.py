"""`manage.py checkpoint`: a small statement of how the whole record stands, to be kept elsewhere."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from checklists.method.chain import canonical
from checklists.sealing import checkpoint, sign


class Command(BaseCommand):
    """Print it for the folder, or write it to a file, signed beside it when a key is given."""

    help = "State how the record stands: print it, or write it to FILE and its signature to FILE.sig."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take a file and a key."""
        parser.add_argument("file", nargs="?", type=Path, help="where to write it; none prints it")
        parser.add_argument(
            "--key", type=Path, help="Ed25519 private key (PEM: openssl genpkey -algorithm ed25519)"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Write or print."""
        told, file = checkpoint(timezone.now()), options["file"]
        if file is None:
            self.stdout.write(_printed(told))
            return
        try:
            file.write_text(canonical(told), encoding="utf-8")
            if options["key"]:
                Path(f"{file}.sig").write_bytes(sign(told, options["key"].read_bytes()))
        except (OSError, ValueError, TypeError) as trouble:
            raise CommandError(f"The checkpoint was not written: {trouble}") from trouble
        signed = ", signed" if options["key"] else ""
        self.stdout.write(f"{file}: {told['links']} links, {len(told['open'])} open records{signed}.")


def _printed(told: dict[str, Any]) -> str:
    """Write it for paper: digests in groups of eight, to be compared by eye."""
    lines = [
        f"Checkpoint of {told['at']}",
        f"Link {told['links']} of the site's chain",
        _grouped(told["digest"]),
    ]
    for code, (number, head) in told["open"].items():
        lines += [f"{code}, open, entry {number}", _grouped(str(head))]
    return "\n".join(lines)


def _grouped(head: str) -> str:
    return "  " + " ".join(textwrap.wrap(head, 8))
