"""Fifty people who write at once for half a minute: how long each waits, and what a bare server would give.

    python3 -m tests.benchmarks.writers           from the project's root, in its own environment (.venv)
    DATABASE_URL=postgres://… python3 -m tests.benchmarks.writers --seconds 30 --writers 50

Every writer is a technician at a hood of their own (and the pharmacist of that work) who presses the next
button as soon as the last one is answered, on a server as `manage.py demo` starts it. An answer that is no
success, an act missing from the record or entered twice, a record that does not verify: each ends the run.
Beside it, in the same run: the same writers on a bare view, and the bare insert and commit. Compare by ratio.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path

import django
from django.conf import settings
from django.db import connection
from django.test.runner import DiscoverRunner


def main() -> None:
    """Make a database, measure, and throw it away."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--writers", type=int, default=50)
    parser.add_argument("--seconds", type=float, default=30)
    asked = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "checklists.site.settings")
    os.environ["COUNTERDRAW_DATA"] = tempfile.mkdtemp(prefix="counterdraw-writers-")
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    django.setup()
    from tests.benchmarks.writing import measured  # knows Django's models, which must be set up first

    database = settings.DATABASES["default"]
    if connection.vendor == "sqlite":
        database.setdefault("TEST", {})["NAME"] = str(settings.DATA / "writers.sqlite3")
    runner = DiscoverRunner(verbosity=0, interactive=False)
    before = runner.setup_databases()
    try:
        measured(asked.writers, asked.seconds)
    finally:
        runner.teardown_databases(before)


if __name__ == "__main__":
    main()
