"""`manage.py worksheet FILE`: the worksheet of an order in JSON, printed; nothing is kept."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from compounding.formulary import paper_orders, paper_worksheets
from compounding.formulary.paper_facts import PaperOrderRefused
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.worksheet import to_plain

REFUSED = 2


class Command(BaseCommand):
    """Read one order, reckon and prove it, print it; say what is wrong with a bad one and exit with 2."""

    help = "Print the worksheet of an order in JSON (shared/guide/worksheet.md). Nothing is kept."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the file, and for whom to print."""
        parser.add_argument("file", metavar="FILE", help="the order; - reads it from standard input")
        parser.add_argument("--json", action="store_true", help="print it for programs")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the worksheet."""
        try:
            worksheet = paper_orders.worksheet_of(_text(options["file"]), timezone.now())
        except Refusal as refusal:
            for sentence in getattr(refusal, "sentences", (refusal.sentence,)):
                self.stderr.write(sentence)
            sys.exit(REFUSED)
        if options["json"]:
            self.stdout.write(json.dumps(to_plain(worksheet), ensure_ascii=False, indent=1))
        else:
            zone = timezone.get_default_timezone()
            self.stdout.write(paper_worksheets.written(worksheet, zone), ending="")


def _text(name: str) -> str:
    """Return what the file holds. Refuses PaperOrderRefused where it cannot be read."""
    try:
        return _raw(name).decode("utf-8-sig")
    except OSError as error:
        raise PaperOrderRefused(
            [f"“{name}” cannot be read ({error.strerror}). Name another file."]
        ) from error
    except UnicodeDecodeError as error:
        raise PaperOrderRefused([f"“{name}” is not written in UTF-8. Save it as UTF-8."]) from error


def _raw(name: str) -> bytes:
    if name != "-":
        return Path(name).read_bytes()
    if sys.stdin is None:  # closed by whoever called
        raise PaperOrderRefused(["Standard input is closed. Name a file."])
    return sys.stdin.buffer.read()
