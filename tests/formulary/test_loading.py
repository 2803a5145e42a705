"""The files of the demo: they load whole, every value says its source, and a row that cannot be is named."""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from compounding.formulary import codes
from compounding.formulary.codes import OwnCode
from compounding.formulary.gtins import is_gtin
from compounding.formulary.loading import load_formulary, load_orders
from compounding.formulary.models import Formulation, Lot, Order, Product, Substance
from compounding.formulary.orders import orderable, to_make
from compounding.formulary.refusals import FileRefused, TablesNotEmpty
from compounding.reckoning.linting import lint
from compounding.reckoning.tall_man import in_tall_man
from tests.formulary.fixed import DAY, NOW, SHARED

pytestmark = pytest.mark.django_db
ORDERS = SHARED / "scenario" / "orders.json"


def rows(name: str, folder: str = "formulary") -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((SHARED / folder / f"{name}.json").read_text())[name]
    return found


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SHARED / "formulary", tmp_path / "formulary"))


def with_change(folder: Path, name: str, place: int, change: dict[str, Any]) -> Path:
    file = folder / f"{name}.json"
    held = json.loads(file.read_text())
    held[name][place] |= change
    file.write_text(json.dumps(held))
    return folder


def test_the_demo_loads_whole(shelf: None) -> None:
    assert Product.objects.count() == len(rows("products"))
    assert Lot.objects.count() == len(rows("lots"))
    assert Formulation.objects.count() == len(orderable(DAY)) == 15
    assert set(Lot.objects.values_list("state", flat=True)) == {"available", "quarantined", "recalled"}
    assert Lot.objects.filter(expires_on__lt=DAY).count() == 2


def test_it_loads_into_empty_tables_only(shelf: None) -> None:
    with pytest.raises(TablesNotEmpty, match=str(len(rows("products")))):
        load_formulary(SHARED / "formulary", DAY)


@pytest.mark.parametrize(
    ("name", "place", "change", "why"),
    [
        ("products", 0, {"gtin": "00399999001015"}, "14 digits"),
        ("products", 9, {"withdrawable": "20.0 mL"}, "point"),
        ("products", 1, {"gtin": "the first one’s"}, "exists"),
        ("substances", 1, {"name": "vancomycin"}, "exists"),
        ("lots", 0, {"state": "lost"}, "not a valid choice"),
        ("formulations", 2, {"stability_source": ""}, "blank"),
        ("formulations", 2, {"diluent": None}, "names the bag"),
    ],
)
def test_a_row_that_cannot_be_is_named_and_nothing_is_loaded(
    copy: Path, name: str, place: int, change: dict[str, Any], why: str
) -> None:
    if "gtin" in change and why == "exists":
        change = {"gtin": rows("products")[0]["gtin"]}
    with pytest.raises(FileRefused, match=why):
        load_formulary(with_change(copy, name, place, change), DAY)
    assert not Substance.objects.exists()
    assert not Product.objects.exists()


def test_the_orders_of_the_scenario_are_taken_by_intake(shelf: None) -> None:
    entered = load_orders(ORDERS, at=NOW, by="Ilse Varga")
    assert len(entered) == Order.objects.filter(state="active").count() == 15
    assert to_make().first() == next(order for order in entered if order.ward == "Intensive care")
    assert {order.formulation.code for order in entered} == {found.code for found in orderable(DAY)}


def test_a_scenario_of_an_unknown_formulation_is_refused(shelf: None, tmp_path: Path) -> None:
    file = tmp_path / "orders.json"
    file.write_text(json.dumps({"orders": [rows("orders", "scenario")[0] | {"formulation": "nothing"}]}))
    with pytest.raises(FileRefused, match="nothing"):
        load_orders(file, at=NOW, by="Ilse Varga")


@pytest.mark.parametrize("name", ["substances", "products", "formulations"])
def test_every_value_says_where_it_comes_from(name: str) -> None:
    for row in rows(name):
        sources = [row["source"], *(part["source"] for part in row.get("ingredients", []))]
        assert all(any(mark in source for mark in ("page", "memory", "invented")) for source in sources), row


def test_product_numbers_are_invented_and_fit() -> None:
    # GS1 keeps prefixes 02 and 20 to 29 for restricted circulation (memory)
    assert all(is_gtin(row["gtin"]) and row["gtin"].startswith("02") for row in rows("products"))


def test_names_carry_the_published_tall_man_letters() -> None:
    # the lists of FDA and ISMP (standards.md section 7)
    assert [in_tall_man(row["name"]) for row in rows("substances")] == [
        row["written"] for row in rows("substances")
    ]


@pytest.mark.parametrize("name", ["products", "formulations"])
def test_names_hold_no_error_prone_form(name: str) -> None:
    # ISMP's list, as the label's linter holds it (standards.md section 7)
    texts = [row[key] for row in rows(name) for key in ("title", "name", "mixing", "rate") if row.get(key)]
    assert [fault for text in texts for fault in lint(text)] == []


@pytest.mark.parametrize(("name", "field", "letter"), [("people", "badge", "B"), ("hoods", "code", "H")])
def test_badges_and_hoods_carry_codes_of_ours(name: str, field: str, letter: str) -> None:
    found = [row[field] for row in rows(name, "scenario")]
    assert [codes.read(code) for code in found] == [OwnCode(letter, code) for code in found]
    assert len(set(found)) == len(found)


def test_the_cast_is_two_technicians_three_pharmacists_and_a_supervisor() -> None:
    people = rows("people", "scenario")
    assert sorted(row["role"] for row in people) == ["pharmacist"] * 3 + ["supervisor"] + ["technician"] * 2
    assert all(row["pin"].isdigit() and 4 <= len(row["pin"]) <= 6 for row in people)


def test_hazardous_drugs_have_a_vertical_hood_and_no_horizontal_one() -> None:
    hoods = rows("hoods", "scenario")
    assert [row["airflow"] for row in hoods if row["takes_hazardous"]] == ["vertical"]
    assert [row["airflow"] for row in hoods if not row["takes_hazardous"]] == ["horizontal"] * 2
