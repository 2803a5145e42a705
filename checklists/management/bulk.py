"""Rows written by the thousand: keys are given here, and a statement takes many rows at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from datetime import datetime
from functools import lru_cache
from typing import Any

from django.core.management.color import no_style
from django.db import connection
from django.db.models import DateField, DateTimeField, DecimalField, Field, JSONField, Max, Model

from checklists.management.past import Past
from checklists.method.chain import GENESIS, canonical, digest
from checklists.models import (
    Closing,
    Entry,
    Hold,
    Mishap,
    Preparation,
    Reading,
    Recalculation,
    Sighting,
    Step,
)
from compounding.formulary import codes
from compounding.formulary.models import Order
from compounding.formulary.models.orders import OrderDose

#: Odd, so that numbers one after the other become codes far from each other, and none twice.
SCATTER, CODES = 21235486155, 2**35
#: In this order: a row comes after those that it names.
MODELS: tuple[type[Model], ...] = (
    Order, OrderDose, Preparation, Step, Entry, Recalculation, Reading, Sighting, Hold, Mishap, Closing,
)  # fmt: skip


class Bulk:
    """Gathers the rows of invented preparations and writes them."""

    def __init__(self) -> None:
        self.rows: dict[type[Model], list[dict[str, Any]]] = defaultdict(list)
        self.last = {model: _last(model) for model in MODELS}
        closing = Closing.objects.last()
        self.link = (closing.number, closing.digest) if closing else (0, GENESIS)
        self.steps = 0

    def next_code(self) -> str:
        """Return a code that no preparation has."""
        return codes.make("P", (self.last[Preparation] + 1) * SCATTER % CODES)

    def next_order(self) -> str:
        """Return a number that no order has."""
        return codes.make("R", (self.last[Order] + 1) * SCATTER % CODES)

    def put(self, model: type[Model], **row: Any) -> int:
        """Gather one row; return the key that it will have."""
        self.last[model] += 1
        self.rows[model].append({"id": self.last[model], **row})
        return self.last[model]

    def add(self, past: Past) -> None:
        """Gather every row of one preparation."""
        preparation = self.put(
            Preparation,
            code=past.code,
            order_id=self._order(past),
            worksheet=past.plain,
            state="released",
            technician_id=past.technician.pk,
            hood_id=None,
            made_in_id=past.hood.pk,
            opened_at=past.opened_at,
            beyond_use_at=past.plain["beyond_use_at"],
            handed_over_at=past.at,
            ended_at=past.at,
            version=len(past.entries),
        )
        steps = [self.put(Step, preparation_id=preparation, **step) for step in past.steps]
        self.steps += len(steps)
        for model, rows in ((Entry, past.entries), (Recalculation, past.recalculations)):
            for row in rows:
                self.put(model, preparation_id=preparation, **row)
        drawn = {row["draw"]: self.put(Reading, preparation_id=preparation, **row) for row in past.readings}
        for seen in past.sightings:
            facts = seen | {"reading_id": drawn[seen["reading"]], "step_id": steps[seen["step"]]}
            self.put(Sighting, **{name: facts[name] for name in facts if name not in ("reading", "step")})
        for hold in past.holds:
            facts = {name: hold[name] for name in hold if name != "step"}
            self.put(Hold, preparation_id=preparation, step_id=steps[hold["step"]], **facts)
        for mishap in past.mishaps:
            facts = {name: mishap[name] for name in mishap if name != "step"}
            self.put(Mishap, preparation_id=preparation, step_id=None, hold_id=None, **facts)
        self._close(preparation, past)

    def _order(self, past: Past) -> int:
        """Gather an order like the pattern's, due when it was released."""
        pattern = past.pattern.order
        row = {f.attname: getattr(pattern, f.attname) for f in Order._meta.concrete_fields if f.name != "id"}
        own = {"number": past.order, "key": None, "supersedes_id": None}
        made = self.put(Order, **row | own | {"due_at": past.at, "entered_at": past.opened_at})
        for dose in past.pattern.doses:
            self.put(OrderDose, order_id=made, ingredient_id=dose.ingredient_id, dose=dose.dose)
        return made

    def _close(self, preparation: int, past: Past) -> None:
        number, previous = self.link[0] + 1, self.link[1]
        final = past.entries[-1]
        text = canonical(
            {
                "number": number,
                "preparation": past.code,
                "state": "released",
                "entries": final["number"],
                "last": final["digest"],
            }
        )
        self.link = (number, digest(previous, text))
        self.put(
            Closing,
            number=number,
            preparation_id=preparation,
            text=text,
            previous=previous,
            digest=self.link[1],
        )

    def write(self) -> None:
        """Write all that was gathered."""
        for model in MODELS:
            if self.rows[model]:
                _insert(model, self.rows[model])
        self.rows.clear()

    def finish(self) -> None:
        """Let the database give keys after ours, and see anew how much there is of what."""
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_sql(no_style(), list(MODELS)):
                cursor.execute(statement)
            cursor.execute("ANALYZE")


def _last(model: type[Model]) -> int:
    return int(model._default_manager.aggregate(last=Max("pk"))["last"] or 0)


def _insert(model: type[Model], rows: list[dict[str, Any]]) -> None:
    """Insert rows; a column that they do not name is stored as a new row of the model would have it."""
    fields = {field.attname: field for field in model._meta.concrete_fields}
    unnamed = {name: field.get_default() for name, field in fields.items() if name not in rows[0]}
    names = [*rows[0], *unnamed]
    columns = ", ".join(connection.ops.quote_name(str(fields[name].column)) for name in names)
    marks = ", ".join(["%s"] * len(names))
    table = connection.ops.quote_name(model._meta.db_table)
    stored = [(name, _storing(fields[name])) for name in names]
    values = [tuple(store(row[name]) for name, store in stored) for row in (unnamed | row for row in rows)]
    with connection.cursor() as cursor:
        cursor.executemany(f"INSERT INTO {table} ({columns}) VALUES ({marks})", values)


def _storing(field: Field[Any, Any]) -> Callable[[Any], Any]:
    """Return how a value of the field is stored; whole numbers and text as they are, which is most."""
    if isinstance(field, DateTimeField):
        return lambda value: _moment(datetime.fromisoformat(value) if isinstance(value, str) else value)
    if isinstance(field, JSONField | DecimalField | DateField):
        return lambda value: field.get_db_prep_save(value, connection)
    return lambda value: value


@lru_cache(maxsize=4096)
def _moment(value: datetime | None) -> Any:
    return connection.ops.adapt_datetimefield_value(value)
