"""`manage.py seed_demo`: fill an empty database with the invented scenario, and print the badges."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from checklists.management.seeding_fitness import seed_fitness
from checklists.models import Hood, Person
from compounding.formulary import codes
from compounding.formulary.loading import load_formulary, load_orders

SHARED = settings.ROOT / "shared"


class Command(BaseCommand):
    """Seed only where there is nobody yet: a database in use is never touched."""

    help = "Fill an empty database with the invented demo scenario; print its badges and PINs."

    def handle(self, *args: Any, **options: Any) -> None:
        """Seed, or say that there is something already; then print who may sign in."""
        people = _read("people")
        if Person.objects.exists():
            self.stdout.write("The database holds people already; nothing was seeded.")
        else:
            seed()
        known = set(Person.objects.values_list("badge", flat=True))
        shown = [person for person in people if person["badge"] in known]
        if shown:
            self.stdout.write("\nInvented people of the demo (PINs are public; never use them outside it):")
        for person in shown:
            badge = codes.grouped(person["badge"])
            self.stdout.write(
                f"  {person['role']:<11} {person['name']:<17} badge {badge}   PIN {person['pin']}"
            )


@transaction.atomic
def seed() -> None:
    """Put the scenario into empty tables."""
    now = timezone.now()
    for row in _read("people"):
        Person.objects.create_user(**row, is_staff=row["role"] == "supervisor")
    for row in _read("hoods"):
        days, hours = row.pop("certified_for_days"), row.pop("running_for_hours")
        Hood.objects.create(
            **row,
            certified_until=timezone.localdate(now) + timedelta(days=days),
            running_since=now - timedelta(hours=hours),
        )
    seed_fitness(json.loads((SHARED / "scenario" / "fitness.json").read_text(encoding="utf-8")), now)
    load_formulary(SHARED / "formulary")
    load_orders(SHARED / "scenario" / "orders.json", at=now, by="demo")


def _read(name: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads(
        (SHARED / "scenario" / f"{name}.json").read_text(encoding="utf-8")
    )[name]
    return rows
