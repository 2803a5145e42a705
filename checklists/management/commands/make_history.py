"""`manage.py make_history`: an invented past of the demo, for its charts and for benchmarks."""

from __future__ import annotations

import json
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from checklists import run
from checklists.management.bulk import Bulk
from checklists.management.invented import Inventor, patterns
from checklists.management.invented_times import working_days
from checklists.models import Person

SHARED = settings.ROOT / "shared"
AT_ONCE = 200


class Command(BaseCommand):
    """Only where everybody is of the demo: an invented past has no place among real records."""

    help = (
        "Invent released preparations of past days, with records that verify. Only beside the demo's people."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take how many, over how many days, and the seed of all chance."""
        parser.add_argument("--preparations", type=int, default=1000, help="how many")
        parser.add_argument(
            "--days", type=int, default=0, help="over the last so many days; 40 a day if absent"
        )
        parser.add_argument("--seed", type=int, default=1, help="the same seed invents the same times")

    def handle(self, *args: Any, **options: Any) -> None:
        """Invent, write, and keep what the days came to."""
        count = options["preparations"]
        _refuse_real_people()
        found = patterns()
        if not found:
            raise CommandError("There is no order to go by. Run seed_demo first.")
        days = list(working_days(options["days"] or max(28, count // 40)))
        inventor, bulk = Inventor(options["seed"], found), Bulk()
        chosen = sorted(inventor.chance.choices(days, k=count))
        for start in range(0, count, AT_ONCE):
            with transaction.atomic():
                for day in chosen[start : start + AT_ONCE]:
                    bulk.add(inventor.invent(day, bulk.next_code(), bulk.next_order()))
                bulk.write()
        bulk.finish()
        kept = run.keep_days(most_days=len(days) * 2)
        self.stdout.write(
            f"{count} preparations with {bulk.steps} steps over {len(days)} days; {kept} days tallied."
        )


def _refuse_real_people() -> None:
    text = (SHARED / "scenario" / "people.json").read_text(encoding="utf-8")
    known = {row["badge"] for row in json.loads(text)["people"]}
    people = set(Person.objects.values_list("badge", flat=True))
    if not people:
        raise CommandError("There is nobody yet. Run seed_demo first.")
    if people - known:
        raise CommandError(
            "There are people here that are not of the demo; an invented past is not written beside theirs."
        )
