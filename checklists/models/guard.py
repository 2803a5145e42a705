"""The database's own guard: what the record holds is added, and never changed or deleted, by anyone.

Triggers, laid after every `migrate`: SQLite drops a table's triggers without a word when it remakes that
table. Whoever owns the database can still lift them; `verify_records` then says that they are gone, and the
chain shows what was changed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper

#: Tables whose rows are never changed once they are written, and never deleted.
ONLY_ADDED = (
    "entry",
    "reading",
    "sighting",
    "recalculation",
    "disclosure",
    "material",
    "waste",
    "serving",
    "closing",
    "formerbadge",
    "securityevent",
    "stamp",
    "rejection",
    "photograph",
    "unreadable",
    "qualification",
    "dutydone",
)

#: Tables whose rows are never deleted, with the fields that are written once.
WRITTEN_ONCE: dict[str, tuple[str, ...]] = {
    "preparation": ("code", "worksheet", "opened_at"),
    "hold": ("preparation", "cause", "opened_by", "opened_at"),
    "mishap": ("preparation", "step", "code", "about", "consequence", "person", "at"),
    "label": ("preparation", "code", "unit", "print_number", "reason", "words", "printed_by", "printed_at"),
}
PREFIX = "kept_as_written"
POSTGRES_FUNCTION = """
CREATE OR REPLACE FUNCTION kept_as_written() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'restrict_violation';
END $$
"""


@dataclass(frozen=True)
class Guard:
    """One trigger: what it is called, the table it guards, what it refuses, and when."""

    table: str
    on: str
    when: str = ""

    @property
    def name(self) -> str:
        """Return the trigger's name."""
        return f"{PREFIX}_{self.table}_{self.on.lower()}"

    @property
    def message(self) -> str:
        """Return what somebody is told who tries."""
        return f"The record is kept as it was written: {self.table} cannot be changed or deleted here."


def guards(vendor: str) -> Iterator[Guard]:
    """Yield every guard of a database of that vendor."""
    for name in ONLY_ADDED:
        yield from (Guard(_table(name), on) for on in ("UPDATE", "DELETE"))
    for name, fields in WRITTEN_ONCE.items():
        yield Guard(_table(name), "UPDATE", _changes(vendor, name, fields))
        yield Guard(_table(name), "DELETE")
    if vendor == "postgresql":
        yield from (Guard(_table(name), "TRUNCATE") for name in (*ONLY_ADDED, *WRITTEN_ONCE))
    else:  # INSERT OR REPLACE deletes without asking the triggers of DELETE
        for name in (*ONLY_ADDED, *WRITTEN_ONCE):
            yield Guard(_table(name), "INSERT", f"EXISTS (SELECT 1 FROM {_table(name)} WHERE id = NEW.id)")


def lay(connection: BaseDatabaseWrapper) -> None:
    """Put every guard in its place, also where one is already."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(POSTGRES_FUNCTION)
        for guard in guards(connection.vendor):
            cursor.execute(_dropping(connection.vendor, guard))
            cursor.execute(_creating(connection.vendor, guard))


def lift(connection: BaseDatabaseWrapper) -> None:
    """Take every guard away, as only the owner of the database can."""
    with connection.cursor() as cursor:
        for guard in guards(connection.vendor):
            cursor.execute(_dropping(connection.vendor, guard))


def unguarded(connection: BaseDatabaseWrapper) -> tuple[str, ...]:
    """Return the tables over which a guard is missing or switched off."""
    found = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D'"
    )
    with connection.cursor() as cursor:
        cursor.execute(found)
        standing = {name for (name,) in cursor.fetchall()}
    bare = {guard.table for guard in guards(connection.vendor) if guard.name not in standing}
    return tuple(sorted(bare))


def _table(name: str) -> str:
    return str(apps.get_model("checklists", name)._meta.db_table)


def _changes(vendor: str, name: str, fields: tuple[str, ...]) -> str:
    differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
    meta = apps.get_model("checklists", name)._meta
    columns = [meta.get_field(field).column for field in fields]
    return " OR ".join(f"OLD.{column} {differs} NEW.{column}" for column in columns)


def _dropping(vendor: str, guard: Guard) -> str:
    where = f" ON {guard.table}" if vendor == "postgresql" else ""
    return f"DROP TRIGGER IF EXISTS {guard.name}{where}"


def _creating(vendor: str, guard: Guard) -> str:
    when = f"WHEN ({guard.when})" if guard.when else ""
    if vendor == "postgresql":
        each = "STATEMENT" if guard.on == "TRUNCATE" else "ROW"
        return (
            f"CREATE TRIGGER {guard.name} BEFORE {guard.on} ON {guard.table} FOR EACH {each} {when} "
            f"EXECUTE FUNCTION kept_as_written('{guard.message}')"
        )
    return (
        f"CREATE TRIGGER {guard.name} BEFORE {guard.on} ON {guard.table} FOR EACH ROW {when} "
        f"BEGIN SELECT RAISE(ABORT, '{guard.message}'); END"
    )
