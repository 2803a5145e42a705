"""Technicians with a hood each who work side by side, every one in a thread of their own."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db import connection
from django.utils import timezone

from cast import PIN, Cast
from checklists.models import Hood, Person
from compounding.formulary import codes


@dataclass
class Crew:
    """Technicians with a hood each, working side by side in threads of their own."""

    house: Cast
    size: int
    hands: list[Cast] = field(default_factory=list)

    def __post_init__(self) -> None:
        since = timezone.now() - timedelta(hours=3)
        for number in range(self.size):
            technician = Person.objects.create_user(
                badge=codes.make("B", 700 + number), name=f"Crew {number}", role="technician", pin=PIN
            )
            own = [self._hood(hood, number, since) for hood in (self.house.hood, self.house.vertical)]
            self.hands.append(Cast({**self.house.people, "technician": technician}, *own))

    def _hood(self, like: Hood, number: int, since: datetime) -> Hood:
        return Hood.objects.create(
            name=f"{like.name} of crew {number}",
            code=codes.make("H", 7000 + 1000 * (like.airflow == "vertical") + number),
            airflow=like.airflow,
            takes_hazardous=like.takes_hazardous,
            deck_width_cm=180,
            deck_depth_cm=75,
            certified_until=like.certified_until,
            running_since=since,
        )

    def work(self, does: Callable[[Cast, int], None]) -> None:
        """Let each do its work at the same time; raise what went wrong with any."""
        wrong: list[BaseException] = []

        def one(number: int) -> None:
            try:
                does(self.hands[number], number)
            except BaseException as trouble:
                wrong.append(trouble)
            finally:
                connection.close()

        threads = [threading.Thread(target=one, args=[number]) for number in range(self.size)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        if wrong:
            raise wrong[0]
