"""Beyond-use dates against the published table, and which limit binds.

Source of the table: shared/published/beyond_use_limits.json, each cell marked page or memory.
The binding rule, the clock's start and 23:59 for a bare date: standards.md section 1a (page and memory).
"""

import json
import os
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compounding.reckoning import dating, use_limits
from compounding.reckoning.dating import DatingFacts, beyond_use
from compounding.reckoning.refusals import Refusal

PUBLISHED = Path(__file__).parents[2] / "shared" / "published" / "beyond_use_limits.json"
ROWS: list[dict[str, Any]] = json.loads(PUBLISHED.read_text())["rows"]
START = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
USUAL = DatingFacts(2, "aseptic", False, True, "room", None, "", None, ())


def facts_of(row: dict[str, Any]) -> DatingFacts:
    conditions = (row["category"], row["method"], row["sterility_tested"], row["only_sterile"])
    return DatingFacts(*conditions, row["storage"], None, "", None, ())


def name_of(row: dict[str, Any]) -> str:
    tested = "tested" if row["sterility_tested"] else "untested"
    parts = "sterile" if row["only_sterile"] else "nonsterile"
    return f"{row['category']}-{row['method']}-{tested}-{parts}-{row['storage']}-{row['mark']}"


@pytest.mark.parametrize("row", [row for row in ROWS if row["hours"] is not None], ids=name_of)
def test_the_table_limit_is_the_published_one(row: dict[str, Any]) -> None:
    (limit,) = beyond_use(facts_of(row), START)
    assert datetime.fromisoformat(limit.ends_at) == START + timedelta(hours=row["hours"])
    assert limit.binding
    assert ("page" in limit.source) or ("memory" in limit.source)


@pytest.mark.parametrize("row", [row for row in ROWS if row["hours"] is None], ids=name_of)
def test_storage_without_a_published_limit_is_refused(row: dict[str, Any]) -> None:
    with pytest.raises(dating.StorageNotAllowed) as caught:
        beyond_use(facts_of(row), START)
    assert caught.value.sentence == (
        "Category 1 may not be kept in the freezer. Choose room temperature or fridge."
    )


def test_every_row_of_the_table_is_reached_by_a_published_case() -> None:
    reached = {use_limits.limits_for(r["category"], r["method"], r["sterility_tested"], r["only_sterile"])
               for r in ROWS}  # fmt: skip
    assert reached == set(use_limits.USE_LIMITS)


@pytest.mark.parametrize("method", ["aseptic", "terminal"])
def test_category_3_without_a_sterility_test_is_refused(method: str) -> None:
    with pytest.raises(dating.SterilityTestRequired) as caught:
        beyond_use(replace(USUAL, category=3, method=method), START)
    assert caught.value.sentence == (
        "Category 3 needs a passed sterility test. Test it, or make it as Category 2."
    )


def test_every_limit_is_listed_and_the_earliest_binds() -> None:
    facts = replace(
        USUAL,
        storage="fridge",
        stability_hours=Decimal(48),
        stability_source="label",
        own_limit_hours=Decimal("36.5"),
        component_ends=(("bag", START + timedelta(hours=30)), ("vial 1", START + timedelta(days=400))),
    )
    limits = beyond_use(facts, START)
    assert [(limit.what, limit.ends_at, limit.binding) for limit in limits] == [
        ("Table limit Category 2, aseptic, not sterility tested, only sterile parts, fridge: 10 d",
         "2026-12-05T08:00+00:00", False),
        ("Stability: 2 d", "2026-11-27T08:00+00:00", False),
        ("Formulation's own limit: 36.5 h", "2026-11-26T20:30+00:00", False),
        ("End of bag", "2026-11-26T14:00+00:00", True),
        ("End of vial 1", "2027-12-30T08:00+00:00", False),
    ]  # fmt: skip
    assert [limit.source for limit in limits][1:] == ["label", "formulation", *["component's own label"] * 2]


def test_the_working_is_written_line_by_line() -> None:
    facts = replace(USUAL, stability_hours=Decimal(24), stability_source="label")
    zone = timezone(timedelta(hours=-5), "EST")
    lines = dating.working(beyond_use(facts, START), START, zone)
    assert {line.about for line in lines} == {"beyond-use date"}
    assert [line.text for line in lines] == [
        "Preparation starts 2026-11-25 03:00 EST",
        "Table limit Category 2, aseptic, not sterility tested, only sterile parts, room temperature: 4 d: "
        "2026-11-29 03:00 EST (USP <797> 2023, Category 2 limits (page))",
        "Stability: 24 h: 2026-11-26 03:00 EST (label)",
        "Earliest: 2026-11-26 03:00 EST, set by Stability: 24 h",
    ]


def test_equal_ends_have_one_binding_limit() -> None:
    facts = replace(USUAL, stability_hours=Decimal(96), stability_source="label")
    assert [limit.binding for limit in beyond_use(facts, START)] == [True, False]


def test_ends_are_rounded_down_to_the_minute() -> None:
    started = START.replace(second=59, microsecond=999)
    (limit,) = beyond_use(USUAL, started)
    assert limit.ends_at == "2026-11-29T08:00+00:00"


def test_a_start_in_another_zone_counts_in_utc() -> None:
    started = datetime(2026, 11, 25, 3, 0, tzinfo=timezone(timedelta(hours=-5)))
    assert beyond_use(USUAL, started) == beyond_use(USUAL, START)


def test_a_start_without_a_zone_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        beyond_use(USUAL, START.replace(tzinfo=None))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"category": 4}, "The category cannot be “4”. Write 1 or 2 or 3."),
        ({"method": "boiled"}, "The method cannot be “boiled”. Write aseptic or terminal."),
        ({"storage": "shelf"}, "The storage cannot be “shelf”. Write room or fridge or freezer."),
        (
            {"stability_hours": Decimal(24), "stability_source": " "},
            "Stability of 24 h is given without a source. Write where the figure is from.",
        ),
        (
            {"stability_hours": Decimal(0), "stability_source": "label"},
            "Stability cannot be 0 h. Write more than 0 h and at most 87,600 h, or leave it empty.",
        ),
        (
            {"own_limit_hours": Decimal("-1.50")},
            "The formulation's own limit cannot be -1.5 h. "
            "Write more than 0 h and at most 87,600 h, or leave it empty.",
        ),
        (
            {"component_ends": (("vial 1", START),)},
            "vial 1 ended 2026-11-25 08:00 UTC, before preparation starts 2026-11-25 08:00 UTC. "
            "Take one that is in date.",
        ),
    ],
)
def test_facts_that_cannot_be_dated_are_refused_in_words(change: dict[str, Any], sentence: str) -> None:
    with pytest.raises(Refusal) as caught:
        beyond_use(replace(USUAL, **change), START)
    assert caught.value.sentence == sentence


def test_a_date_without_a_time_ends_at_23_59_there() -> None:
    zone = timezone(timedelta(hours=-5))
    assert dating.end_of(date(2026, 11, 30), zone) == datetime(2026, 12, 1, 4, 59, tzinfo=UTC)


hours = st.decimals(min_value="0.01", max_value=5000, places=2)


@given(st.none() | hours, st.none() | hours, st.lists(hours, max_size=4))
def test_nothing_ends_after_the_binding_limit(
    stability: Decimal | None, own: Decimal | None, ends: list[Decimal]
) -> None:
    components = tuple(
        (f"vial {n}", START + timedelta(minutes=1 + int(h * 60))) for n, h in enumerate(ends, start=1)
    )
    facts = replace(
        USUAL, stability_hours=stability, stability_source="label", own_limit_hours=own,
        component_ends=components,
    )  # fmt: skip
    limits = beyond_use(facts, START)
    set_by = dating.binding(limits)
    assert sum(limit.binding for limit in limits) == 1
    assert len(limits) == 1 + (stability is not None) + (own is not None) + len(ends)
    assert all(limit.ends_at >= set_by.ends_at for limit in limits)


@pytest.fixture
def machine_elsewhere() -> Iterator[None]:
    """A machine whose own zone is not UTC: five hours behind."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = "EST5"
    time.tzset()
    yield
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()


@pytest.mark.usefixtures("machine_elsewhere")
def test_the_machines_own_zone_changes_nothing() -> None:
    assert dating.in_utc(START).tzinfo is UTC
    ends = dating.end_of(date(2026, 11, 30), UTC)
    assert (ends.tzinfo, ends.isoformat()) == (UTC, "2026-11-30T23:59:00+00:00")
    assert beyond_use(USUAL, START)[0].ends_at == "2026-11-29T08:00+00:00"
    with pytest.raises(dating.ComponentEnded) as caught:
        beyond_use(replace(USUAL, component_ends=(("vial 1", START),)), START)
    assert (caught.value.facts["ended"], caught.value.facts["started"]) == ("2026-11-25 08:00 UTC",) * 2


@pytest.mark.parametrize("late", [timedelta(seconds=59), timedelta(microseconds=999_999)])
def test_a_component_ends_at_its_minute_not_within_it(late: timedelta) -> None:
    with pytest.raises(dating.ComponentEnded):
        beyond_use(replace(USUAL, component_ends=(("vial 1", START + late),)), START)


def test_ten_years_are_still_a_limit() -> None:
    limits = beyond_use(replace(USUAL, own_limit_hours=Decimal(87_600)), START)
    assert limits[1].what == "Formulation's own limit: 3,650 d"
    with pytest.raises(Refusal, match=r"87,600\.01 h"):
        beyond_use(replace(USUAL, own_limit_hours=Decimal("87600.01")), START)
