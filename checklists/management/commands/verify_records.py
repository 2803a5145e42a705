"""`manage.py verify_records`: prove that no entry was changed, taken out or put in."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.db.models import QuerySet

from checklists.audit import first_fault
from checklists.collation import differences
from checklists.models import Preparation, guard
from checklists.sealing import checkpoint_faults, is_signed, site_faults


class Command(BaseCommand):
    """Walk every chain and name what is off; the quick way walks only the site's chain."""

    help = "Verify the record of every preparation, or of those named. Exit 1 when anything was changed."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take codes of preparations, how far to look, and a checkpoint."""
        parser.add_argument("codes", nargs="*", help="codes of preparations; none means all")
        parser.add_argument(
            "--quick", action="store_true", help="only the site's chain and the records' ends"
        )
        parser.add_argument("--checkpoint", type=Path, help="a checkpoint that was kept elsewhere")
        parser.add_argument(
            "--key", type=Path, help="public key (PEM) that FILE.sig of the checkpoint must fit"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Verify and report."""
        with _any_bytes():
            count, bad, beside = self._verify(options)
        for fault in beside:
            self.stderr.write(fault)
        if bad:
            raise CommandError(f"{bad} of {count} records are not as they were written.")
        if beside:
            raise CommandError("Every entry is as it was written, but not all that guards them.")
        how = "seen by their ends" if options["quick"] else "verified, every entry as it was written"
        self.stdout.write(f"{count} records {how}.")

    def _verify(self, options: dict[str, Any]) -> tuple[int, int, list[str]]:
        """Tell what is off with each record; return how many there are and are bad, and what else is off."""
        preparations = self._wanted(options["codes"])
        bad, count = 0, preparations.count()
        for preparation in () if options["quick"] else preparations.only("code", "version"):
            faults = list(_faults(preparation))
            bad += bool(faults)
            for fault in faults:
                self.stderr.write(f"{preparation.code}: {fault}")
        return count, bad, [] if options["codes"] else list(_of_the_site(options))

    def _wanted(self, typed: list[str]) -> QuerySet[Preparation]:
        preparations = Preparation.objects.order_by("opened_at")
        codes = {code.upper().replace(" ", "") for code in typed}
        if codes:
            preparations = preparations.filter(code__in=codes)
            missing = codes - set(preparations.values_list("code", flat=True))
            if missing:
                raise CommandError(f"No preparation is named {', '.join(sorted(missing))}.")
        return preparations


@contextmanager
def _any_bytes() -> Iterator[None]:
    """Let SQLite hand over bytes that are no text with a mark in their place, which makes another text."""
    connection.ensure_connection()
    if connection.vendor != "sqlite":
        yield
        return
    before = connection.connection.text_factory
    connection.connection.text_factory = lambda sent: sent.decode(errors="replace")
    try:
        yield
    finally:
        connection.connection.text_factory = before


def _faults(preparation: Preparation) -> Iterator[str]:
    """Yield the first bad entry; where the chain holds, what is stored differently from what it says."""
    fault = first_fault(preparation)
    if fault:
        yield f"entry {fault.number}: {fault.what}"
    else:
        yield from differences(preparation)


def _of_the_site(options: dict[str, Any]) -> Iterator[str]:
    for table in guard.unguarded(connection):
        yield f"{table}: the database no longer guards it; `manage.py migrate` lays it again"
    yield from site_faults()
    if options["checkpoint"]:
        yield from _of_a_checkpoint(options["checkpoint"], options["key"])


def _of_a_checkpoint(file: Path, key: Path | None) -> Iterator[str]:
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        if key and not is_signed(told, Path(f"{file}.sig").read_bytes(), key.read_bytes()):
            yield f"{file}: its signature does not fit"
        yield from checkpoint_faults(told)
    except (OSError, ValueError, TypeError, KeyError) as trouble:
        raise CommandError(f"The checkpoint cannot be read: {trouble}") from trouble
