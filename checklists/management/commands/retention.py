"""`manage.py retention`: which records are older than the site keeps them; nothing is deleted."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db.models import Min
from django.utils import timezone

from checklists.models import Preparation
from checklists.worklists.period import ended_between

DAYS_A_YEAR = 365.25


class Command(BaseCommand):
    """Look once a year. The law of the place says how long a record is kept; ours are kept whole."""

    help = "Say how many records ended more than YEARS ago, by year, and how to keep them elsewhere."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take how long records are kept."""
        parser.add_argument("--years", type=int, default=10, help="how long the site keeps them (10)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Count them."""
        now = timezone.now()
        until = now - timedelta(days=DAYS_A_YEAR * max(0, options["years"]))
        first = Preparation.objects.aggregate(first=Min("ended_at"))["first"]
        old = ended_between(first or now, until)
        by_year = Counter(one.ended_at.year for one in old if one.ended_at)
        for year, count in sorted(by_year.items()):
            self.stdout.write(f"{year}: {count}")
        if not old:
            self.stdout.write(f"No record ended more than {options['years']} years ago.")
            return
        self.stdout.write(
            f"{len(old)} records ended before {until:%d %b %Y}. This program deletes none of them. Keep them "
            f"elsewhere with: python3 manage.py export {min(by_year)}-01-01 {until:%Y-%m-%d} FOLDER; the "
            "copy is proved by its digests."
        )
