"""One byte of any entry changed, or any entry gone: the verifier names that entry and fails.

Source: the issue's own list. No chain alone can see its last entry rewritten together with its digest, or the
whole chain reckoned anew: that takes a copy kept elsewhere.
"""

from __future__ import annotations

import io

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import DataError, connection, transaction

from cast import Cast, Hands, order
from checklists.models import Entry, Preparation
from tests.checklists.walks import beside, past_the_guard


@pytest.fixture(scope="module")
def recorded(house: Cast) -> Hands:
    """A short record: a few steps of one preparation."""
    return beside(house, order("ketorolac-syringe", "30 mg")).to("first_check")


def verify(*codes: str) -> tuple[bool, str]:
    """Return whether the command succeeded, and all it said."""
    told = io.StringIO()
    try:
        call_command("verify_records", *codes, stdout=told, stderr=told, no_color=True)
    except CommandError as failed:
        return failed.returncode != 1, f"{told.getvalue()}\n{failed}"
    return True, told.getvalue()


def test_an_untouched_record_is_verified(everybody: Cast, recorded: Hands) -> None:
    assert verify() == (True, "1 records verified, every entry as it was written.\n")
    assert verify(recorded.code.lower())[0]


def set_raw(entry: Entry, column: str, value: object) -> None:
    """Change one column past Django, as somebody with the database file would."""
    with past_the_guard(), connection.cursor() as cursor:
        cursor.execute(f"UPDATE checklists_entry SET {column} = %s WHERE id = %s", [value, entry.pk])


def get_raw(entry: Entry, column: str) -> str:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {column} FROM checklists_entry WHERE id = %s", [entry.pk])
        return str(cursor.fetchone()[0])


def was_changed(entry: Entry, column: str, value: str) -> bool:
    """Change one column, and say whether it is another now: PostgreSQL refuses or tidies what is no time."""
    before = get_raw(entry, column) if connection.vendor == "postgresql" else ""
    try:
        with transaction.atomic():
            set_raw(entry, column, value)
    except DataError:
        return False
    return connection.vendor != "postgresql" or get_raw(entry, column) != before


def flipped(text: str, index: int, bit: int) -> str:
    """Return the text with one bit of one character other than it was."""
    return text[:index] + chr(ord(text[index]) ^ bit) + text[index + 1 :]


def named(work: Hands, number: int) -> None:
    """Assert that the verifier fails and names that entry of that preparation."""
    is_well, told = verify()
    assert not is_well
    assert f"{work.code}: entry {number}: " in told
    assert "1 of 1 records are not as they were written." in told


@pytest.mark.parametrize("column", ["text", "act", "previous", "digest", "at", "key"])
def test_one_byte_changed_anywhere_is_found_and_named(everybody: Cast, recorded: Hands, column: str) -> None:
    bit = 16 if column == "key" else 1  # two keys that differ in one bit would collide before they are found
    for entry in recorded.preparation.entries.all():
        value = get_raw(entry, column)
        for index in sorted({0, 1, len(value) // 3, len(value) // 2, len(value) - 2, len(value) - 1}):
            if not was_changed(entry, column, flipped(value, index, bit)):
                continue
            named(recorded, entry.number)
            set_raw(entry, column, value)
    assert verify()[0]


@pytest.mark.parametrize("number", [1, 3, 5])
@pytest.mark.parametrize("other", [0, 1000])
def test_a_changed_number_is_found_and_named(
    everybody: Cast, recorded: Hands, number: int, other: int
) -> None:
    with past_the_guard():
        recorded.preparation.entries.filter(number=number).update(number=other)
    named(recorded, number)


@pytest.mark.parametrize("number", [1, 3, 5])
def test_another_person_under_an_entry_is_found_and_named(
    everybody: Cast, recorded: Hands, number: int
) -> None:
    with past_the_guard():
        recorded.preparation.entries.filter(number=number).update(person=everybody["supervisor"])
    named(recorded, number)


@pytest.mark.parametrize("which", ["first", "middle", "last"])
def test_a_deleted_entry_is_found_and_named(everybody: Cast, recorded: Hands, which: str) -> None:
    count = recorded.preparation.entries.count()
    number = {"first": 1, "middle": count // 2, "last": count}[which]
    with past_the_guard():
        recorded.preparation.entries.get(number=number).delete()
    named(recorded, number)


def test_all_entries_deleted_is_found(everybody: Cast, recorded: Hands) -> None:
    with past_the_guard():
        recorded.preparation.entries.all().delete()
    named(recorded, 1)


def test_two_entries_that_changed_places_are_found(everybody: Cast, recorded: Hands) -> None:
    fourth, fifth = recorded.preparation.entries.filter(number__in=(4, 5))
    set_raw(fourth, "number", 99)
    set_raw(fifth, "number", 4)
    set_raw(fourth, "number", 5)
    named(recorded, 4)


def test_an_entry_rewritten_with_its_own_digest_is_found_at_the_next(
    everybody: Cast, recorded: Hands
) -> None:
    from checklists.method.chain import digest

    entry = recorded.preparation.entries.get(number=3)
    text = entry.text.replace("vial 1", "vial 2")
    assert text != entry.text
    with past_the_guard():
        Entry.objects.filter(pk=entry.pk).update(text=text, digest=digest(entry.previous, text))
    named(recorded, 4)


@pytest.mark.parametrize("text", ["5", "[]", "null", "", "not json", '{"act": "release"}'])
def test_an_entry_that_holds_something_else_is_named(everybody: Cast, recorded: Hands, text: str) -> None:
    from checklists.method.chain import digest

    last = recorded.preparation.entries.last()
    with past_the_guard():
        Entry.objects.filter(pk=last.pk).update(text=text, digest=digest(last.previous, text))
    named(recorded, last.number)


@pytest.mark.parametrize("value", ["", "never", "2026-99-99 00:00:00", "0001-01-01 00:00:00"])
def test_a_time_that_is_none_is_named(everybody: Cast, recorded: Hands, value: str) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("only SQLite takes any text for a time")
    entry = recorded.preparation.entries.get(number=4)
    set_raw(entry, "at", value)
    named(recorded, 4)


@pytest.mark.parametrize("column", ["text", "act", "digest", "key"])
def test_bytes_that_are_no_text_are_named(everybody: Cast, recorded: Hands, column: str) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("only SQLite keeps bytes that are no text")
    entry = recorded.preparation.entries.get(number=4)
    with past_the_guard(), connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE checklists_entry SET {column} = CAST(X'FF7B22' AS TEXT) WHERE id = %s", [entry.pk]
        )
    named(recorded, 4)


def test_an_entry_put_in_at_the_end_is_found(everybody: Cast, recorded: Hands) -> None:
    last = recorded.preparation.entries.last()
    last.pk, last.number, last.key = None, last.number + 1, "forged"
    last.save(force_insert=True)
    named(recorded, last.number)


def test_every_broken_record_is_counted_and_named(everybody: Cast, recorded: Hands) -> None:
    other = beside(everybody, order("ketorolac-syringe", "30 mg"))
    for work in (recorded, other):
        with past_the_guard():
            work.preparation.entries.filter(number=1).update(act="close")
    is_well, told = verify()
    assert not is_well
    assert "2 of 2 records are not as they were written." in told
    assert recorded.code in told
    assert other.code in told


def test_one_record_named_is_verified_alone(everybody: Cast, recorded: Hands) -> None:
    other = beside(everybody, order("ketorolac-syringe", "30 mg"))
    with past_the_guard():
        other.preparation.entries.filter(number=1).update(act="close")
    assert verify(recorded.code)[0]
    assert not verify(other.code)[0]


def test_a_code_nobody_knows_is_told(everybody: Cast, recorded: Hands) -> None:
    is_well, told = verify("PXXXXXXXX")
    assert not is_well
    assert "No preparation is named PXXXXXXXX." in told


def test_the_version_and_the_entries_go_together(everybody: Cast, recorded: Hands) -> None:
    count = recorded.preparation.entries.count()
    assert recorded.preparation.version == count
    Preparation.objects.filter(code=recorded.code).update(version=count + 1)
    named(recorded, count + 1)
