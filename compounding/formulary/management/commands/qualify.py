"""`manage.py qualify`: published answers, published tables and the site's own formulary, all tried."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError
from django.utils import timezone

from compounding.formulary import qualification, qualification_papers
from compounding.formulary.qualification import Report

PUBLISHED = settings.ROOT / "shared" / "published"


class Command(BaseCommand):
    """Run everything, report, and exit with 1 when anything failed."""

    help = (
        "Try published examples, published tables and this formulary at its dose limits; exit 1 on a failure."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take how the report is given out."""
        parser.add_argument("--json", action="store_true", help="print the report for programs")
        parser.add_argument("--html", metavar="FILE", help="also write the report as a page to be printed")

    def handle(self, *args: Any, **options: Any) -> None:
        """Qualify and report."""
        report = _report()
        if options["html"]:
            _save(options["html"], qualification_papers.page(report))
        if options["json"]:
            self.stdout.write(json.dumps(qualification_papers.plain(report), ensure_ascii=False, indent=1))
        else:
            self.stdout.write(qualification_papers.written(report), ending="")
        if not report.has_passed:
            sys.exit(1)


def _report() -> Report:
    try:
        return qualification.report(PUBLISHED, timezone.now())
    except DatabaseError as error:
        sentence = "The database does not answer. Run migrate and load a formulary first."
        raise CommandError(sentence) from error


def _save(name: str, text: str) -> None:
    try:
        Path(name).write_text(text, encoding="utf-8")
    except OSError as error:
        raise CommandError(f"“{name}” cannot be written ({error.strerror}). Name another file.") from error
