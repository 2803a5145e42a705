"""The day on which the tests of the formulary take place."""

from datetime import UTC, date, datetime
from pathlib import Path

SHARED = Path(__file__).resolve().parents[2] / "shared"
DAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
