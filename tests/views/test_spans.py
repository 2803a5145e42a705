"""Times as a page writes them. The unit symbols h, min and s: SI brochure, 9th edition (memory)."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from checklists.templatetags.spans import is_past, span, when


@pytest.mark.parametrize(
    ("length", "written"),
    [
        (timedelta(0), "0 s"),
        (timedelta(seconds=42), "42 s"),
        (timedelta(seconds=59, microseconds=999_999), "59 s"),
        (timedelta(minutes=1), "1 min 00 s"),
        (timedelta(minutes=4, seconds=12), "4 min 12 s"),
        (timedelta(minutes=59, seconds=59), "59 min 59 s"),
        (timedelta(hours=1), "1 h 00 min"),
        (timedelta(hours=1, minutes=4, seconds=59), "1 h 04 min"),
        (timedelta(days=2, hours=3), "51 h 00 min"),
    ],
)
def test_a_length_is_written_with_its_two_largest_units(length: timedelta, written: str) -> None:
    assert span(length) == written


def test_no_length_is_nothing_and_a_clock_set_back_is_zero() -> None:
    assert span(None) == ""
    assert span(timedelta(seconds=-3)) == "0 s"


@time_machine.travel(datetime(2026, 11, 25, 9, 0, tzinfo=UTC), tick=False)
@pytest.mark.parametrize(
    ("moment", "written"),
    [
        (datetime(2026, 11, 25, 14, 30, tzinfo=UTC), "14:30"),
        (datetime(2026, 11, 26, 8, 5, tzinfo=UTC), "26 Nov 08:05"),
        (datetime(2027, 1, 2, 8, 5, tzinfo=UTC), "2 Jan 2027 08:05"),
        ("2026-11-29T07:53+00:00", "29 Nov 07:53"),
    ],
)
def test_a_moment_leaves_out_what_today_has_in_common_with_it(moment: datetime | str, written: str) -> None:
    assert when(moment) == written


@time_machine.travel(datetime(2026, 11, 25, 22, 0, tzinfo=UTC), tick=False)
def test_today_is_the_day_of_the_pharmacys_own_zone(settings: object) -> None:
    settings.TIME_ZONE = "Asia/Tokyo"  # type: ignore[attr-defined]
    assert when(datetime(2026, 11, 25, 23, 0, tzinfo=UTC)) == "08:00"
    assert when(datetime(2026, 11, 25, 14, 0, tzinfo=UTC)) == "25 Nov 23:00"


def test_no_moment_is_nothing() -> None:
    assert when(None) == ""
    assert when("") == ""


@time_machine.travel(datetime(2026, 11, 25, 9, 0, tzinfo=UTC), tick=False)
def test_only_what_lies_behind_is_past() -> None:
    assert is_past(datetime(2026, 11, 25, 8, 59, tzinfo=UTC))
    assert not is_past(datetime(2026, 11, 25, 9, 1, tzinfo=UTC))
