"""Backups: one file with the live database, the pictures and a list of digests; and bringing one back.

SQLite copies itself through its own backup interface while the work goes on. PostgreSQL has its own tools.
The key that signs sessions is not in it: after a restore everybody signs in again.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import tarfile
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings
from django.db import connection

from checklists.sealing import checkpoint
from compounding.formulary import PROGRAM_VERSION
from compounding.reckoning.refusals import Refusal

DATABASE, MANIFEST, PICTURES = "counterdraw.sqlite3", "manifest.json", "media"
BESIDE = ("", "-wal", "-shm")


class CannotKeep(Refusal):
    """A backup or a restore that cannot be done, and `why`."""

    wording = "{why}"


def back_up(target: Path, at: datetime) -> int:
    """Write a backup to a new file, whole or not at all; return how many files it holds."""
    _refuse_other_databases("pg_dump --format=custom --file=FILE")
    if target.exists():
        raise CannotKeep(why=f"{target} is there already. Name a new file; a backup is never written over.")
    with TemporaryDirectory(dir=target.resolve().parent, prefix=".backup-") as folder:
        copy = Path(folder) / DATABASE
        connection.ensure_connection()
        with closing(sqlite3.connect(copy)) as copied:
            connection.connection.backup(copied)
        files = {DATABASE: copy, **dict(_pictures())}
        manifest = {
            "at": at.isoformat(timespec="seconds"),
            "program": PROGRAM_VERSION,
            "checkpoint": checkpoint(at),
            "sha256": {name: _digest(path) for name, path in files.items()},
        }
        listed, part = Path(folder) / MANIFEST, Path(folder) / "part.tar"
        listed.write_text(json.dumps(manifest, indent=1, sort_keys=True), encoding="utf-8")
        with tarfile.open(part, "w") as bundle:
            for name, path in {MANIFEST: listed, **files}.items():
                bundle.add(path, arcname=name)
        part.chmod(0o600)
        part.rename(target)
    return len(files)


def restore(source: Path) -> dict[str, Any]:
    """Bring a backup back into the data folder, and return its manifest. What was there is kept beside it."""
    _refuse_other_databases("pg_restore --clean --dbname=NAME FILE")
    with TemporaryDirectory(dir=settings.DATA, prefix=".restore-") as name:
        folder = Path(name)
        manifest = _unpacked(source, folder)
        connection.close()
        for ending in BESIDE:
            _set_aside(_database().with_name(f"{_database().name}{ending}"))
        (folder / DATABASE).rename(_database())
        if (folder / PICTURES).is_dir():
            _set_aside(_picture_folder())
            (folder / PICTURES).rename(_picture_folder())
    return manifest


def _unpacked(source: Path, folder: Path) -> dict[str, Any]:
    """Unpack, and compare every file with its digest before anything of the site is touched."""
    try:
        with tarfile.open(source) as bundle:
            bundle.extractall(folder, filter="data")
        manifest: dict[str, Any] = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        differing = [name for name, told in manifest["sha256"].items() if _digest(folder / name) != told]
    except (OSError, tarfile.TarError, ValueError, KeyError) as trouble:
        raise CannotKeep(
            why=f"{source} is no backup of this program: {trouble}. Nothing was changed."
        ) from trouble
    if differing:
        raise CannotKeep(why=f"{source} was changed: {', '.join(differing)}. Nothing was restored.")
    with closing(sqlite3.connect(folder / DATABASE)) as copy:
        if copy.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
            raise CannotKeep(why=f"The database in {source} is damaged. Nothing was restored.")
    return manifest


def _set_aside(path: Path) -> None:
    """Move what is there to a free name beside it."""
    if path.exists():
        number = 1
        while (kept := path.with_name(f"{path.name}.before-restore-{number}")).exists():
            number += 1
        path.rename(kept)


def _pictures() -> Iterator[tuple[str, Path]]:
    folder = _picture_folder()
    for path in sorted(folder.rglob("*")) if settings.MEDIA_ROOT and folder.is_dir() else ():
        if path.is_file():
            yield f"{PICTURES}/{path.relative_to(folder)}", path


def _picture_folder() -> Path:
    return Path(settings.MEDIA_ROOT or settings.DATA / PICTURES)


def _database() -> Path:
    return Path(settings.DATABASES["default"]["NAME"])


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _refuse_other_databases(command: str) -> None:
    if connection.vendor != "sqlite":
        raise CannotKeep(why=f"This site is on PostgreSQL. Use its own tool: {command}")
