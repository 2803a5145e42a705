"""Backups taken amid the work and brought back elsewhere; what happens when nothing can be saved.

Source: the project's own rules. The live copy: SQLite's online backup interface (page).
"""

from __future__ import annotations

import io
import os
import sqlite3
import subprocess
import sys
import tarfile
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from cast import Cast, Hands, cast, hands, key, order
from checklists import run
from checklists.audit import first_fault
from checklists.keeping import back_up
from checklists.models import Entry
from checklists.refusals import ClockWentBack
from tests.checklists.walks import sign_in, words

ROOT = Path(__file__).resolve().parents[2]
only_sqlite = pytest.mark.skipif(
    os.environ.get("DATABASE_URL", "").startswith("postgres"), reason="PostgreSQL has tools of its own"
)
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def everybody(transactional_db: None) -> Cast:
    return cast()


@pytest.fixture
def work(everybody: Cast) -> Hands:
    hands(everybody, order("ketorolac-syringe", "30 mg")).to_release()
    return hands(everybody, order("ondansetron-nacl-50", "8 mg")).to("first_check")


def elsewhere(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run one of our commands for another installation, whose data folder that is."""
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    return subprocess.run(
        [sys.executable, "manage.py", *words, "--no-color"],
        cwd=ROOT, env=environment | {"COUNTERDRAW_DATA": str(folder)}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip


@only_sqlite
def test_a_backup_taken_amid_the_work_comes_back_elsewhere_and_verifies(
    work: Hands, tmp_path: Path, settings
) -> None:
    settings.MEDIA_ROOT = tmp_path / "photographs"  # other tests left theirs in the common one
    file, count = tmp_path / "monday.tar", Entry.objects.count()
    said = io.StringIO()
    call_command("backup", str(file), stdout=said)
    assert said.getvalue() == f"{file}: 1 file kept.\n"
    assert file.stat().st_mode & 0o077 == 0, "nobody else on the machine reads it"
    work.to("draw")
    told = elsewhere(tmp_path / "other", "restore", str(file))
    assert told.returncode == 0, told.stderr
    assert "2 records verified, every entry as it was written." in told.stdout
    with closing(sqlite3.connect(tmp_path / "other" / "counterdraw.sqlite3")) as copy:
        assert copy.execute("SELECT COUNT(*) FROM checklists_entry").fetchone() == (count,)
        with pytest.raises(sqlite3.IntegrityError, match="kept as it was written"):
            copy.execute("DELETE FROM checklists_entry")
    again = elsewhere(tmp_path / "other", "restore", str(file))
    assert again.returncode == 0, again.stderr
    assert (tmp_path / "other" / "counterdraw.sqlite3.before-restore-1").exists()


@only_sqlite
def test_a_backup_is_never_written_over(work: Hands, tmp_path: Path) -> None:
    (tmp_path / "there.tar").write_text("something")
    with pytest.raises(CommandError, match="is there already"):
        call_command("backup", str(tmp_path / "there.tar"))
    assert (tmp_path / "there.tar").read_text() == "something"
    with pytest.raises(CommandError):
        call_command("backup", str(tmp_path / "no such folder" / "there.tar"))


@only_sqlite
def test_a_backup_that_was_changed_or_is_none_changes_nothing(work: Hands, tmp_path: Path) -> None:
    file, broken = tmp_path / "monday.tar", tmp_path / "broken.tar"
    back_up(file, timezone.now())
    bytes_of = bytearray(file.read_bytes())
    with tarfile.open(file) as bundle:
        inside = bundle.getmember("counterdraw.sqlite3").offset_data
    bytes_of[inside + 5000] ^= 1
    broken.write_bytes(bytes_of)
    (tmp_path / "none.tar").write_text("no backup")
    for name, why in (("broken.tar", "was changed: counterdraw.sqlite3"), ("none.tar", "is no backup")):
        told = elsewhere(tmp_path / "other", "restore", str(tmp_path / name))
        assert told.returncode == 1
        assert why in told.stderr
    assert not (tmp_path / "other" / "counterdraw.sqlite3").exists()


@only_sqlite
@pytest.mark.parametrize(
    ("pragma", "undo", "why"),
    [
        ("query_only = ON", "query_only = OFF", "the store is set to be read only."),
        ("max_page_count = 1", "max_page_count = 1073741823", "the disk of the server is full."),
    ],
)
def test_where_nothing_can_be_saved_the_act_is_refused_in_words(
    work: Hands, pragma: str, undo: str, why: str
) -> None:
    tablet, before = sign_in(work.technician), Entry.objects.count()
    tablet.raise_request_exception = False
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")
        cursor.execute(f"PRAGMA {pragma}")
        try:
            for number in range(100):  # what a full disk still takes is little, but not nothing
                told = {"reason": "the ward called it off. " * 20, "key": key()}
                answer = tablet.post(reverse(("pause", "resume")[number % 2], args=[work.code]), told)
                if answer.status_code == 503:
                    break
        finally:
            cursor.execute(f"PRAGMA {undo}")
    assert answer.status_code == 503
    assert f"Nothing can be saved now: {why}" in words(answer)
    assert answer["Content-Security-Policy"]
    assert first_fault(work.preparation) is None
    if "query_only" in pragma:
        assert Entry.objects.count() == before
    assert tablet.get(reverse("to_make")).status_code == 200


@only_sqlite
def test_a_store_whose_file_is_read_only_says_so_and_keeps_what_was_there(work: Hands) -> None:
    """The file itself opened for reading only, as on a volume that was remounted so."""
    tablet, before = sign_in(work.technician), Entry.objects.count()
    tablet.raise_request_exception = False
    told = connection.settings_dict
    name, options = told["NAME"], told["OPTIONS"]
    connection.close()
    told["NAME"], told["OPTIONS"] = f"file:{name}?mode=ro", {**options, "uri": True}
    try:
        answer = tablet.post(reverse("pause", args=[work.code]), {"reason": "end of shift", "key": key()})
    finally:
        connection.close()
        told["NAME"], told["OPTIONS"] = name, options
    assert answer.status_code == 503
    assert "Nothing can be saved now: the store is set to be read only." in words(answer)
    assert Entry.objects.count() == before
    assert first_fault(work.preparation) is None


def test_another_fault_of_the_program_stays_one(everybody: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    from checklists.worklists import orders

    monkeypatch.setattr(orders, "to_make", lambda *_, **__: 1 / 0)
    tablet = sign_in(everybody["technician"])
    tablet.raise_request_exception = False
    answer = tablet.get(reverse("to_make"))
    assert answer.status_code == 500
    assert "The program has a fault and could not answer" in words(answer)


def test_a_clock_that_was_set_back_is_said_and_nothing_is_saved(work: Hands) -> None:
    before = Entry.objects.count()
    with time_machine.travel(timezone.now() - timedelta(minutes=10)), pytest.raises(ClockWentBack) as refused:
        run.raise_hold(code=work.code, person=work.technician, key=key(), note="the stopper is cored")
    assert refused.value.sentence.startswith("The server's clock is wrong: it stands before the last entry")
    assert Entry.objects.count() == before
    with time_machine.travel(timezone.now() - timedelta(seconds=2)):
        run.raise_hold(code=work.code, person=work.technician, key=key(), note="the stopper is cored")


def test_a_site_by_https_passes_djangos_own_checks(tmp_path: Path) -> None:
    environment = {
        "COUNTERDRAW_DATA": str(tmp_path),
        "COUNTERDRAW_HTTPS": "1",
        "COUNTERDRAW_HOSTS": "a.example",
    }
    inherited = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    told = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=ROOT, env={**inherited, **environment}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    key_file = tmp_path / "secret_key"
    assert (key_file.stat().st_mode & 0o077, len(key_file.read_text()) > 50) == (0, True)


def test_by_https_a_plain_request_is_sent_over(settings) -> None:
    settings.SECURE_SSL_REDIRECT = True
    assert Client().get("/about/").url == "https://testserver/about/"
