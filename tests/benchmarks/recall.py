"""The recall drill: 5,000 preparations, 300 lots; how long it takes to list what holds one, and to stop it.

    python3 -m tests.benchmarks.recall            from the project's root, in its own environment (.venv)

Target: one lot traced in 200 ms. Nothing fails here: figures are printed to be read. It makes a database of
its own and throws it away.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from datetime import timedelta
from pathlib import Path

import django
from django.db import connection
from django.test.runner import DiscoverRunner

PREPARATIONS, LOTS = 5_000, 300
#: One a container: each without a factor in common with the number of lots, so that every lot is used.
STRIDES = (1, 7, 11)


def fill(preparations: int, lots: int) -> None:
    """Put in so many released preparations, one in fifty handed over, each with containers of so many lots.

    All repeat one real order and worksheet: the amount of data is what counts, not the work.
    """
    from django.utils import timezone

    from cast import order
    from checklists.models import Material, Person, Preparation
    from compounding.formulary import codes
    from compounding.formulary.models import Lot, Order, Product
    from compounding.formulary.worksheets import for_order
    from compounding.reckoning.worksheet import to_plain

    now, maker = timezone.now(), Person.objects.filter(role="technician").first()
    pattern = order()
    plain = to_plain(for_order(pattern, now))
    products = list(Product.objects.all())
    expires_on = timezone.localdate(now) + timedelta(days=400)
    shelf = Lot.objects.bulk_create(
        Lot(
            product=products[number % len(products)],
            number=f"DRILL{number}",
            expires_on=expires_on,
            received_on=timezone.localdate(now),
        )
        for number in range(lots)
    )
    columns = {
        field.attname: getattr(pattern, field.attname)
        for field in Order._meta.concrete_fields
        if field.attname not in ("id", "number", "key")
    }
    orders = Order.objects.bulk_create(
        Order(number=codes.make("R", number), **columns) for number in range(preparations)
    )
    made = Preparation.objects.bulk_create(
        (
            Preparation(
                code=codes.make("P", number),
                order=order,
                worksheet=plain,
                state="handed-over" if number % 50 == 0 else "released",
                technician=maker,
                opened_at=now - timedelta(minutes=number),
                beyond_use_at=now + timedelta(days=4),
                ended_at=now,
            )
            for number, order in enumerate(orders)
        ),
        batch_size=200,
    )
    Material.objects.bulk_create(
        Material(
            preparation=preparation,
            container=f"vial {place + 1}",
            lot=shelf[(number * STRIDES[place] + place * 7) % lots],
            person=maker,
            at=now,
        )
        for number, preparation in enumerate(made)
        for place in range(len(STRIDES))
    )


def main() -> None:
    """Make the drill's database, trace twenty lots, recall one."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "checklists.site.settings")
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    django.setup()
    runner = DiscoverRunner(verbosity=0, interactive=False)
    before = runner.setup_databases()
    try:
        _drill()
    finally:
        runner.teardown_databases(before)


def _drill() -> None:
    from cast import cast
    from checklists import run
    from checklists.worklists import stock
    from compounding.formulary.models import Lot

    people = cast()
    fill(PREPARATIONS, LOTS)
    took, found = [], 0
    drilled = list(Lot.objects.filter(number__startswith="DRILL")[:20])
    for lot in drilled:
        begun = time.perf_counter()
        groups = stock.trace(lot)
        took.append(time.perf_counter() - begun)
        found = sum(len(group.rows) for group in groups)
    median, most = statistics.median(took) * 1000, max(took) * 1000
    kept = "within" if most <= 200 else "BEYOND"
    print(f"{PREPARATIONS} preparations, {LOTS} lots, {connection.vendor}; the last lot is in {found}")
    print(f"tracing one lot   median {median:.1f} ms, longest {most:.1f} ms; {kept} the target of 200 ms")
    begun = time.perf_counter()
    run.change_lot(lot=drilled[0], to="recalled", reason="drill", person=people["supervisor"], key="drill")
    print(f"recalling it      {(time.perf_counter() - begun) * 1000:.0f} ms, every record written")


if __name__ == "__main__":
    main()
