"""`manage.py qualify`: it passes on the demo's formulary, and any planted fault is named and ends in exit 1.

Source of what is run: shared/published, each row marked page, memory or derived.
"""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError
from django.utils import timezone

from compounding.formulary import qualification
from compounding.formulary.loading import load_formulary
from compounding.formulary.management.commands import qualify
from compounding.formulary.models import Formulation, FormulationIngredient, Lot, Order
from tests.formulary.fixed import SHARED

pytestmark = pytest.mark.usefixtures("formulary")


@pytest.fixture
def formulary(db: None) -> None:
    """The demo's formulary, loaded today."""
    load_formulary(SHARED / "formulary")


@pytest.fixture
def published(formulary: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """A copy of the published files; `published(name, place, **facts)` changes a row of one of them.

    Of the formulary one formulation stays in force: these tests are not about it.
    """
    Formulation.objects.exclude(code="famotidine-nacl-100").update(state="draft")
    folder = tmp_path / "published"
    shutil.copytree(SHARED / "published", folder)
    monkeypatch.setattr(qualify, "PUBLISHED", folder)

    def change(name: str, place: int, /, **facts: Any) -> None:
        path = folder / f"{name}.json"
        table = json.loads(path.read_text(encoding="utf-8"))
        table["rows"][place] |= facts
        path.write_text(json.dumps(table), encoding="utf-8")

    return change


def failed(capsys: pytest.CaptureFixture[str]) -> list[str]:
    """Run it, expect exit 1, and return what failed, by name."""
    with pytest.raises(SystemExit) as left:
        call_command("qualify", "--json")
    assert left.value.code == 1
    report = json.loads(capsys.readouterr().out)
    assert not report["passed"]
    return [result["name"] for result in report["results"] if not result["passed"]]


def test_it_passes_on_the_demo(capsys) -> None:
    call_command("qualify")
    told = capsys.readouterr().out
    assert "Worked examples       289 run, 0 failed" in told
    assert "Of the worked examples 244 have an answer that was seen; 241 of those agree." in told
    assert "vancomycin-nacl-250 version 1, most dose: vancomycin 1,250 mg\n    proved, stored" in told
    assert told.splitlines()[-1].startswith("Passed: all ")
    assert "\nFailed\n" not in told


def test_json_holds_every_row(capsys) -> None:
    call_command("qualify", "--json")
    report = json.loads(capsys.readouterr().out)
    counts = {part["name"]: part["count"] for part in report["parts"]}
    tables = {"beyond_use_limits", "syringe_tolerances", "syringe_graduations", "check_digits", "tall_man"}
    rows = [len(json.loads((SHARED / "published" / f"{name}.json").read_text())["rows"]) for name in tables]
    assert report["passed"]
    assert sum(counts.values()) == len(report["results"])
    assert sum(counts.values()) == 289 + sum(rows) + counts["Error-prone forms"] + counts["Formulary"]
    assert counts["Formulary"] == 2 * Formulation.objects.count()


def test_the_print_page_is_whole_in_itself(capsys, tmp_path: Path) -> None:
    call_command("qualify", "--html", str(tmp_path / "report.html"))
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert "Passed: all " in page
    assert "vancomycin-nacl-250 version 1, least dose" in page
    assert "data:text/css;base64," in page
    assert "http" not in page
    assert "Passed" in capsys.readouterr().out


def test_a_page_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("qualify", "--html", str(tmp_path / "none" / "report.html"))


def test_nothing_of_it_is_kept(capsys) -> None:
    call_command("qualify")
    assert capsys.readouterr().out
    assert not Order.objects.exists()


def test_a_wrong_published_answer_is_named(capsys, published) -> None:
    published("worked_examples", 0, expected={"text": "1.7 mL", "value": "1.7", "unit": "mL"})
    assert failed(capsys) == ["WX001 dose to volume"]


def test_an_example_that_cannot_be_read_is_named(capsys, published) -> None:
    published(
        "worked_examples", 1, given={"way": "volume of a dose", "dose": "1.0 mg", "strength": "5 mg/mL"}
    )
    published("worked_examples", 2, given={"way": "volume of a dose"})
    assert failed(capsys) == ["WX002 dose to volume", "WX004 dose to volume"]


def test_a_disagreement_that_changes_is_named(capsys, published) -> None:
    published("worked_examples_disagreeing", 0, found="1,072 mg")
    assert failed(capsys) == ["WX058 weight bsa dose"]


@pytest.mark.parametrize(
    ("table", "facts", "name"),
    [
        ("beyond_use_limits", {"hours": 13}, "Category 1, aseptic, not tested, a nonsterile part, room"),
        ("syringe_tolerances", {"percent": "16"}, "0.1 mL from a 1 mL syringe"),
        ("syringe_graduations", {"mark_each": "0.1 mL"}, "1 mL syringe"),
        ("check_digits", {"check_digit": 8}, "890400021003"),
        ("tall_man", {"name": "ACETAzolamide"}, "acetazolamide"),
        ("error_prone_forms", {"better": "10 mg"}, "10 U"),
    ],
)
def test_a_wrong_row_of_a_table_is_named(capsys, published, table: str, facts: dict, name: str) -> None:
    published(table, 0, **facts)
    assert failed(capsys) == [name]


def test_a_most_dose_that_cannot_be_drawn_is_named(capsys) -> None:
    # 0.3 mg ÷ 30 mg/mL = 0.01 mL, below what the smallest syringe is used for
    limits = {"least_dose": "0.3 mg", "most_dose": "0.3 mg"}
    FormulationIngredient.objects.filter(formulation__code="ketorolac-syringe").update(**limits)
    with pytest.raises(SystemExit) as left:
        call_command("qualify")
    told = capsys.readouterr().out
    assert left.value.code == 1
    assert "ketorolac-syringe version 1, most dose: ketorolac 0.3 mg" in told.split("\nFailed\n")[1]
    assert "0.01 mL is not measurable this way" in told
    assert told.splitlines()[-1] == "Failed: 2 of 522 did not come out as they should."


def test_a_most_dose_that_does_not_fit_is_named(capsys) -> None:
    # 500 mg ÷ 2 mg/mL = 250 mL into a bag of 50 mL
    FormulationIngredient.objects.filter(formulation__code="ondansetron-nacl-50").update(most_dose="500 mg")
    assert failed(capsys) == ["ondansetron-nacl-50 version 1, most dose"]


def test_a_label_that_is_badly_written_is_named(capsys) -> None:
    Formulation.objects.filter(code="cefazolin-nacl-100").update(rate="over 30min")
    assert failed(capsys) == [f"cefazolin-nacl-100 version 1, {end} dose" for end in ("least", "most")]


def test_a_shelf_without_the_product_is_named(capsys) -> None:
    Lot.objects.filter(product__substance__name="famotidine").delete()
    assert failed(capsys) == [f"famotidine-nacl-100 version 1, {end} dose" for end in ("least", "most")]


def test_an_empty_formulary_has_not_passed(capsys) -> None:
    Formulation.objects.update(state="draft")
    assert failed(capsys) == []
    with pytest.raises(SystemExit):
        call_command("qualify")
    assert "holds no formulation in force" in capsys.readouterr().out


def test_a_dose_per_kg_takes_the_patient_who_reaches_the_content(capsys) -> None:
    # 100 mg ÷ 5 mg/kg = 20 kg; 1,500 mg ÷ 15 mg/kg = 100 kg
    report = qualification.report(SHARED / "published", timezone.now())
    asked = [one.published for one in report.results if one.name.startswith("acyclovir")]
    assert asked == ["acyclovir 5 mg/kg, 20 kg", "acyclovir 15 mg/kg, 100 kg"]


def test_a_database_that_does_not_answer_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def silent(*args: object) -> None:
        raise DatabaseError

    monkeypatch.setattr(qualification, "report", silent)
    with pytest.raises(CommandError, match="The database does not answer"):
        call_command("qualify")
