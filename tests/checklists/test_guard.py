"""The database itself refuses to change or delete what the record holds, also past the program.

Source: the project's own rule. Whoever owns the database can lift the guard; then the verifier says so.
"""

from __future__ import annotations

import io

import pytest
from django.apps import apps
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import IntegrityError, connection, transaction

from cast import Cast, Hands, key
from checklists import run
from checklists.models import (
    Duty,
    FormerBadge,
    Qualification,
    QualificationKind,
    SecurityEvent,
    Unreadable,
    guard,
)
from tests.checklists.walks import everything, past_the_guard

TABLES = [f"checklists_{name}" for name in (*guard.ONLY_ADDED, *guard.WRITTEN_ONCE)]
COLUMNS = [
    ("checklists_entry", "text"),
    ("checklists_entry", "digest"),
    ("checklists_entry", "person_id"),
    ("checklists_reading", "volume_ml"),
    ("checklists_sighting", "volume_ml"),
    ("checklists_recalculation", "person_id"),
    ("checklists_disclosure", "draw"),
    ("checklists_material", "lot_id"),
    ("checklists_preparation", "worksheet"),
    ("checklists_preparation", "code"),
    ("checklists_hold", "cause"),
    ("checklists_label", "unit"),
]


@pytest.fixture
def released(everybody: Cast, walked: Hands) -> Hands:
    """A preparation with a row in every guarded table but those of a batch."""
    shown = walked.preparation.steps.filter(kind="show").first()
    photograph = walked.preparation.photographs.create(
        step=shown, file="x.jpg", taken_by=walked.technician, at=walked.preparation.opened_at
    )
    Unreadable.objects.create(
        photograph=photograph, wants="again", person=walked.checker, at=walked.preparation.opened_at
    )
    told = {"code": walked.code, "person": walked.checker}
    kept = walked.preparation.mishaps.create(
        code="broken-container", person=walked.technician, at=walked.preparation.opened_at
    )
    walked.preparation.waste.create(mishap=kept, container="vial 9", volume_ml=1)
    walked.preparation.servings.create(mishap=kept, draw=1, container="vial 1", served_by="vial 1")
    run.see_compared(**told, key=key(), place=walked.preparation.steps.filter(kind="show").first().place)
    run.refuse_check(**told, key=key(), place=walked.step.place, reason="a drop beside it")
    walked.resolve("check-again", everybody["third pharmacist"])
    walked.to("release").do()
    now = walked.preparation.opened_at
    kind = QualificationKind.objects.create(code="media-fill", name="Media fill", months=6)
    shown = {"person": walked.technician, "kind": kind, "has_passed": False, "recorded_by": walked.checker}
    Qualification.objects.create(**shown, on=now.date(), at=now, key="x")
    duty = Duty.objects.create(name="Fridge", kind="temperature", every_hours=12, unit="°C")
    duty.done.create(is_right=True, value=4, person=walked.technician, at=now, key="x")
    FormerBadge.objects.create(badge="BNOBODYS1", person=walked.checker, at=now)
    SecurityEvent.objects.create(at=now, what="wrong PIN")
    return walked


@pytest.fixture
def counted(released: Hands) -> Hands:
    """The same with what only a batch has; its entries know nothing of it."""
    first, second = released.preparation.entries.all()[:2]
    done = {"person": released.technician, "at": released.preparation.opened_at}
    released.preparation.steps.first().stamps.create(unit=1, entry=first, **done)
    released.preparation.rejections.create(unit=1, reason="dropped", entry=second, **done)
    return released


def refused(sql: str) -> None:
    """Assert that the database refuses the statement, in words, and that nothing changed."""
    before = everything()
    with pytest.raises(IntegrityError) as told, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
    assert "The record is kept as it was written" in str(told.value)
    assert everything() == before


def rows(table: str) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*) FROM {table}")
        return cursor.fetchone()[0]


@pytest.mark.parametrize("table", TABLES)
def test_no_row_is_deleted(counted: Hands, table: str) -> None:
    assert rows(table)
    refused(f"DELETE FROM {table}")


@pytest.mark.parametrize(("table", "column"), COLUMNS)
def test_no_column_that_is_written_once_is_changed(released: Hands, table: str, column: str) -> None:
    assert rows(table)
    (model,) = [one for one in apps.get_models() if one._meta.db_table == table]
    (field,) = [one for one in model._meta.concrete_fields if one.column == column]
    other = "1 - draw" if column == "draw" else f"{column} + 1"
    texts = ("CharField", "TextField", "JSONField")
    value = """'{"a": 1}'""" if field.get_internal_type() in texts else other
    refused(f"UPDATE {table} SET {column} = {value}")


@pytest.mark.parametrize("table", TABLES)
def test_no_row_is_put_in_the_place_of_another(counted: Hands, table: str) -> None:
    if connection.vendor == "sqlite":
        refused(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")
        return
    with connection.cursor() as cursor:  # nothing is truncated while a deferred constraint waits on it
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    refused(f"TRUNCATE {table} CASCADE")


def test_djangos_own_ways_are_refused_too(released: Hands) -> None:
    entry = released.preparation.entries.first()
    for change in (entry.delete, entry.save, released.preparation.readings.all().delete):
        with pytest.raises(IntegrityError), transaction.atomic():
            change()


def test_what_the_work_itself_changes_is_let_through(released: Hands) -> None:
    preparation = released.preparation
    preparation.version += 1
    preparation.save()
    with connection.cursor() as cursor:
        cursor.execute("UPDATE checklists_label SET scanned_back_at = NULL")
        assert cursor.rowcount == 1


def verify() -> str:
    told = io.StringIO()
    try:
        call_command("verify_records", stdout=told, stderr=told, no_color=True)
    except CommandError as failed:
        return f"{told.getvalue()}{failed}"
    return told.getvalue()


def test_a_guard_that_was_lifted_is_said_and_laid_again(everybody: Cast, walked: Hands) -> None:
    assert verify() == "1 records verified, every entry as it was written.\n"
    with past_the_guard():
        said = verify()
        for table in TABLES:
            assert f"{table}: the database no longer guards it; `manage.py migrate` lays it again\n" in said
        assert said.endswith("Every entry is as it was written, but not all that guards them.")
    assert verify() == "1 records verified, every entry as it was written.\n"


def test_laying_it_twice_changes_nothing(released: Hands) -> None:
    with past_the_guard():
        guard.lay(connection)
    assert guard.unguarded(connection) == ()
    refused("DELETE FROM checklists_entry")
