"""Examples of how many containers, and what is thrown away."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from compounding.reckoning import admixing, dosing, infusion, provisioning, reconstitution, strengths
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.provisioning import Need, Sharing, Size, StockLot
from compounding.reckoning.quantities import Quantity

A_DAY = datetime(2026, 1, 1, 8, tzinfo=UTC)
A_YEAR_LATER = datetime(2027, 1, 1, tzinfo=UTC)


def vials_for_batch(given: Given) -> int:
    """Return how many vials a batch of a strength takes."""
    strength, wanted = given.amount("strength"), given.amount("wanted")
    unit = strengths.base_of_strength(wanted)
    content = strengths.content_of(given.amount("volume"), wanted, unit).amount
    drawn = strengths.volume_of(content, strength).amount
    return reconstitution.containers_for(drawn, given.amount("vial"))


def containers_for_course(given: Given) -> int:
    """Return how many containers a course takes; containers always round up."""
    content = dosing.over_time(given.amount("dose"), given.amount("time")).amount
    drawn = strengths.volume_of(content, given.amount("strength")).amount
    return reconstitution.containers_for(drawn, given.amount("container"))


def diluent_left(given: Given) -> Quantity:
    """Return how much diluent fills up what was taken, one after the other."""
    left = given.amount("volume")
    for taken in given.amounts("taken"):
        left = admixing.to_volume(taken, left, None).filled
    return left


def discarded(given: Given) -> Quantity:
    """Return what is wasted of a single-dose vial that serves one dose."""
    size = Size("vial", given.amount("vial"), Decimal(1), Sharing.NOBODY, timedelta(hours=1))
    lot = StockLot("vial", "1", A_YEAR_LATER, 1)
    need = Need("dose", "patient", A_DAY, given.amount("dose"))
    return provisioning.provision((need,), (size,), (lot,)).wasted[0].content


def days_covered(given: Given) -> Quantity:
    """Return how long a container lasts."""
    return infusion.run_time(given.amount("container"), given.amount("rate")).amount


WAYS: dict[str, Way] = {
    "vials for a batch": vials_for_batch,
    "containers for a course": containers_for_course,
    "diluent left": diluent_left,
    "discarded": discarded,
    "days covered": days_covered,
}
