"""Sizes, marks and tolerances. Outside source: ISO 7886-1 Table 1 (standards.md section 5), and
the rows of shared/published, each marked page or memory.
"""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import write
from compounding.reckoning.syringes import budget, rounded, sizes_in_stock, tolerance

D = Decimal
PUBLISHED = Path(__file__).parents[2] / "shared" / "published"
TOLERANCES, GRADUATIONS = (
    json.loads((PUBLISHED / f"syringe_{name}.json").read_text(encoding="utf-8"))["rows"]
    for name in ("tolerances", "graduations")
)


@pytest.mark.parametrize(
    ("top", "volume", "percent"),
    [
        # 1 mL rows: page and memory; the others from memory; percents derived in standards.md section 5
        ("1", "0.1", "17"),
        ("1", "0.2", "9.5"),
        ("1", "0.5", "5"),
        ("3", "0.5", "11"),
        ("3", "1", "6.5"),
        ("3", "1.5", "5"),
        ("5", "1", "8.5"),
        ("5", "2.5", "4"),
        ("10", "1", "16"),
        ("10", "2", "8.5"),
        ("10", "5", "4"),
        ("20", "4", "8.5"),
        ("30", "10", "5.5"),
        ("60", "10", "10"),
        ("60", "20", "5.5"),
        ("60", "30", "4"),
    ],
)
def test_tolerance_is_the_table_of_the_standard(top: str, volume: str, percent: str) -> None:
    assert tolerance(D(top), D(volume)) / D(volume) * 100 == D(percent)


@pytest.mark.parametrize("row", TOLERANCES, ids=lambda row: f"{row['size']}-{row['volume']}-{row['mark']}")
def test_tolerance_is_that_of_every_published_row(row: dict[str, str]) -> None:
    top, volume = (D(row[fact].removesuffix(" mL")) for fact in ("size", "volume"))
    assert tolerance(top, volume) / volume * 100 == D(row["percent"])


@pytest.mark.parametrize("row", GRADUATIONS, ids=lambda row: f"{row['size']}-{row['mark']}")
def test_the_usual_stock_has_the_published_marks(row: dict[str, str]) -> None:
    marks = {write(one.size): write(one.mark) for one in Policy().syringes}
    assert marks[row["size"]] == row["mark_each"]
    assert len(marks) == len(GRADUATIONS)


def test_the_rule_derived_from_the_table() -> None:
    # within 5 percent only from half of the nominal volume (below 5 mL) or 37.5 percent of it (standards.md)
    assert tolerance(D(10), D("3.75")) / D("3.75") == D("0.05")
    assert tolerance(D(3), D("1.49")) / D("1.49") > D("0.05")


def test_marks_and_fill_are_of_local_stock() -> None:
    sizes = {size.top: size for size in sizes_in_stock(Policy(), hazardous=False)}
    assert {top: size.step for top, size in sizes.items()} == {
        D(1): D("0.01"), D(3): D("0.1"), D(5): D("0.2"), D(10): D("0.2"),
        D(20): D("0.5"), D(30): D("0.5"), D(60): D("0.5"),
    }  # fmt: skip
    assert (sizes[D(30)].least, sizes[D(30)].most, sizes[D(30)].good) == (D(6), D(30), D(24))


def test_a_hazardous_drug_fills_at_most_three_quarters() -> None:
    # 75 to 80 percent, published practice (standards.md section 2)
    sizes = {size.top: size.most for size in sizes_in_stock(Policy(), hazardous=True)}
    assert sizes[D(20)] == D(15)
    assert sizes[D(60)] == D(45)


def test_the_budget_shows_each_part() -> None:
    # 6.06… mL drawn as 6 mL in 10 mL, strength rounded by 1 percent: 1 + 4 + 1 = 6; root of 18 = 4.24
    error = rounded(budget(D(10), D(200) / D(33), D(6), D(1)))
    assert (error.rounding, error.instrument, error.strength) == (D(1), D(4), D(1))
    assert (error.worst, error.expected) == (D(6), D("4.24"))
