"""`manage.py verify_records`: prove that no entry was changed, taken out or put in."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from checklists.audit import first_fault
from checklists.models import Preparation, guard


class Command(BaseCommand):
    """Walk every chain; name the first bad entry of each preparation that has one."""

    help = "Verify the record of every preparation, or of those named. Exit 1 when an entry was changed."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take codes of preparations."""
        parser.add_argument("codes", nargs="*", help="codes of preparations; none means all")

    def handle(self, *args: Any, **options: Any) -> None:
        """Verify and report."""
        preparations = Preparation.objects.order_by("opened_at")
        codes = [code.upper().replace(" ", "") for code in options["codes"]]
        if codes:
            preparations = preparations.filter(code__in=codes)
            missing = set(codes) - set(preparations.values_list("code", flat=True))
            if missing:
                raise CommandError(f"No preparation is named {', '.join(sorted(missing))}.")
        bad, count = 0, 0
        for preparation in preparations.iterator():
            count += 1
            fault = first_fault(preparation)
            if fault:
                bad += 1
                self.stderr.write(f"{fault.preparation}: entry {fault.number}: {fault.what}")
        for table in guard.unguarded(connection):
            self.stderr.write(f"{table}: the database no longer guards it; `manage.py migrate` lays it again")
        if bad:
            raise CommandError(f"{bad} of {count} records are not as they were written.")
        if guard.unguarded(connection):
            raise CommandError("Every entry is as it was written, but the database does not guard them all.")
        self.stdout.write(f"{count} records verified, every entry as it was written.")
