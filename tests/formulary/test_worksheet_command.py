"""`manage.py worksheet`: real orders printed, bad ones refused in sentences, nothing kept, nothing guessed.

Amounts recomputed by hand beside each case; a mutated file is read again by a reader of this test's own.
"""

import io
import json
import random
import re
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from compounding.formulary import paper_orders
from compounding.formulary.models import Order
from compounding.reckoning.quantities import number_in
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.worksheet import from_plain
from tests.formulary.fixed import NOW, SHARED

ORDERS = SHARED / "guide" / "orders"
GUIDE = SHARED / "guide" / "worksheet.md"
IN_FULL = json.loads((ORDERS / "vancomycin_in_full.json").read_text(encoding="utf-8"))


def printed(capsys: pytest.CaptureFixture[str], file: Path | str, *options: str) -> str:
    call_command("worksheet", str(file), *options)
    told = capsys.readouterr()
    assert told.err == ""
    return told.out


def refused(capsys: pytest.CaptureFixture[str], file: Path | str) -> str:
    with pytest.raises(SystemExit) as left:
        call_command("worksheet", str(file))
    told = capsys.readouterr()
    assert left.value.code == 2
    assert told.out == ""
    assert told.err.strip()
    assert "Traceback" not in told.err
    return told.err


def saved(folder: Path, order: object) -> Path:
    path = folder / "order.json"
    path.write_text(order if isinstance(order, str) else json.dumps(order), encoding="utf-8")
    return path


def changed(*path: str | int, to: object) -> dict[str, Any]:
    """Return the order in full with one fact changed; `...` takes it out."""
    order = json.loads(json.dumps(IN_FULL))
    place = order
    for step in path[:-1]:
        place = place[step]
    if to is ...:
        del place[path[-1]]
    else:
        place[path[-1]] = to
    return order


def test_an_order_in_full_needs_no_database(capsys) -> None:
    # no mark for the database: a query would fail
    told = printed(capsys, ORDERS / "vancomycin_in_full.json")
    # 1,100 mg ÷ 50 mg/mL = 22 mL of 250 mL is 8.8 percent: added; 250 + 25 + 22 = 297 mL
    assert "1,100 mg ÷ 50 mg/mL = 22 mL" in told
    assert re.search(r"22 mL +22 mL +30 mL, 1 mL +22 mL +11 mL vial 1 and 11 mL vial 2 +bag", told)
    assert "272 mL labelled, 297 mL true" in told
    assert "binds: 2026-12-04 23:59 UTC  End of vancomycin, lot HV2298" in told
    assert "22 mL × 50 mg/mL = 1,100 mg; ordered 1,100 mg, 0 % off" in told
    assert max(map(len, told.splitlines())) <= 110


def test_json_is_the_whole_worksheet(capsys) -> None:
    told = json.loads(printed(capsys, ORDERS / "vancomycin_in_full.json", "--json"))
    worksheet = from_plain(told)
    assert [draw["target"] for transfer in told["transfers"] for draw in transfer["draws"]] == [
        "20 mL", "20 mL", "22 mL",
    ]  # fmt: skip
    assert worksheet.proof


def test_standard_input_is_read_too(capsys, monkeypatch) -> None:
    raw = (ORDERS / "ondansetron_syringes.json").read_bytes()
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(raw)))
    # 4 mg ÷ 2 mg/mL = 2 mL, four times, from one vial of 20 mL
    told = printed(capsys, "-")
    assert told.count("2 mL vial 1") == 4


@pytest.mark.usefixtures("shelf")
def test_a_formulation_is_taken_by_its_code(capsys) -> None:
    told = json.loads(printed(capsys, ORDERS / "vancomycin_by_code.json", "--json"))
    assert (told["formulation"], told["ingredients"][0]["dose"]) == ("vancomycin-nacl-250", "1100 mg")
    assert told["started_at"] == "2026-11-25T09:00:00+00:00"


@pytest.mark.usefixtures("shelf")
def test_a_dose_by_weight_takes_the_weight(capsys) -> None:
    # 10 mg/kg × 62 kg = 620 mg ÷ 50 mg/mL = 12.4 mL
    told = printed(capsys, ORDERS / "acyclovir_by_weight.json")
    assert "10 mg/kg × 62 kg = 620 mg" in told
    assert "620 mg ÷ 50 mg/mL = 12.4 mL" in told


@pytest.mark.usefixtures("shelf")
def test_nothing_of_it_is_kept(capsys) -> None:
    printed(capsys, ORDERS / "vancomycin_by_code.json")
    assert not Order.objects.exists()


@pytest.mark.usefixtures("shelf")
@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"formulation": "no-such"}, "No formulation “no-such” may be ordered on that day"),
        (
            {"doses": {"vancomycin": "3 g"}},
            "Dose of vancomycin: 3,000 mg of vancomycin is more than the limit",
        ),
        ({"doses": {}}, "Dose of vancomycin: The dose of vancomycin is missing"),
        (
            {"doses": {"cefazolin": "1 g"}},
            "Doses has “cefazolin”. This formulation takes a dose of vancomycin.",
        ),
        ({"doses": {"vancomycin": "1.0 g"}}, "Doses, vancomycin: “1.0” ends in a zero"),
        ({"units": 3}, "1: this preparation is made singly"),
        ({"patient": "x"}, "The file has “patient”, which is not known here. Known: body_weight, doses"),
    ],
)
def test_a_bad_order_by_code_is_refused(capsys, tmp_path, facts: dict[str, Any], sentence: str) -> None:
    order = {"formulation": "vancomycin-nacl-250", "doses": {"vancomycin": "1 g"}, **facts}
    assert sentence in refused(capsys, saved(tmp_path, order))
    assert not Order.objects.exists()


INGREDIENT = ("ingredients", 0)
PRODUCT = (*INGREDIENT, "product")


@pytest.mark.parametrize(
    ("order", "sentence"),
    [
        (changed(*INGREDIENT, "dose", to="1100"), "Ingredient 1, dose: “1100” is not an amount"),
        (changed(*INGREDIENT, "dose", to=1100), "Ingredient 1, dose is not an amount. Write it with its"),
        (changed(*INGREDIENT, "dose", to="5 mL"), "Ingredient 1, dose: 5 mL is a volume; a dose"),
        (changed(*INGREDIENT, "dose", to="1,10 mg"), "Ingredient 1, dose: “1,10” holds a comma"),
        (changed(*INGREDIENT, "dose", to="0.5 MU"), "“MU” is often misread"),
        (changed(*INGREDIENT, "dose", to="20 mEq"), "cannot become mEq"),
        (changed(*INGREDIENT, "dose", to="3 g"), "more than the limit of 1,250 mg"),
        (changed(*INGREDIENT, "dose", to="15 mg/kg"), "The body weight is missing"),
        (changed(*INGREDIENT, "dsoe", to="1 g"), "Ingredient 1 has “dsoe”, which is not known here"),
        (changed(*PRODUCT, "content", to=...), "Ingredient 1, product, content is missing"),
        (changed(*PRODUCT, "container", to="bottle"), "product, container cannot be “bottle”. Write"),
        (changed(*PRODUCT, "reconstitution", to=...), "product, reconstitution is missing"),
        (changed(*PRODUCT, "reconstitution", "how", to="stir"), "cannot be “stir”. Write “swirl” or “shake”"),
        (changed(*PRODUCT, "multi_dose", to="no"), "multi_dose is neither true nor false"),
        (changed("ingredients", to=[]), "The drug is missing"),
        (changed("ingredients", to={}), "Ingredients is not a list"),
        (changed("ingredients", to=["x"]), "Ingredient 1 is not an object"),
        (changed("units", to=0), "Units is not a count. Write a whole number from 1 to 500"),
        (changed("units", to=True), "Units is not a count"),
        (changed("units", to=1.0), "Units is not a count"),
        (changed("dating", "category", to=4), "Dating, category is not a count"),
        (changed("dating", "stability_source", to=...), "Stability of 336 h is given without a source"),
        (changed("dating", to=...), "Dating is missing"),
        (changed("started_at", to="2026-11-25"), "Started_at has no time. Write it as “2026-11-25T09:00”"),
        (changed("started_at", to="noon"), "Started_at is not a date and time"),
        (changed("started_at", to="0001-01-01T00:00+14:00"), "Started_at"),
        (changed("storage", to="shelf"), "Storage cannot be “shelf”"),
        (changed("title", to="a\u202eb"), "Title is not a text"),
        ([], "The file is not an object"),
        ("", "The file is not JSON: line 1, character 1"),
        ('{"title": "a", "title": "b"}', "“title” stands twice in one object"),
        ('{"units": NaN}', "NaN is not a number"),
        ("[" * 100_000, "The file holds no order"),
        ('{"title": "' + "x" * 200_000 + '"}', "The file is too long"),
    ],
)  # fmt: skip
def test_a_bad_order_in_full_is_refused(capsys, tmp_path, order: object, sentence: str) -> None:
    assert sentence in refused(capsys, saved(tmp_path, order))


def test_every_fault_is_named_at_once(capsys, tmp_path) -> None:
    order = changed(*INGREDIENT, "dose", to=".5 g") | {"storage": "shelf", "colour": "blue"}
    told = refused(capsys, saved(tmp_path, order)).splitlines()
    assert [line.split(" ")[0] for line in told] == ["Storage", "Ingredient", "The"]


def test_a_file_that_is_not_there_or_not_text_is_refused(capsys, tmp_path) -> None:
    assert "cannot be read (No such file or directory)" in refused(capsys, tmp_path / "none.json")
    (tmp_path / "latin").write_bytes(b'{"title": "\xe9"}')
    assert "not written in UTF-8" in refused(capsys, tmp_path / "latin")


def test_a_dose_too_small_to_draw_is_refused_with_its_ladder(capsys) -> None:
    # 0.05 mg/kg × 1.2 kg = 0.06 mg ÷ 10 mg/mL = 0.006 mL
    told = refused(capsys, ORDERS / "morphine_too_small.json")
    assert "0.006 mL is not measurable this way" in told
    assert "An intermediate dilution would serve" in told


def test_the_guide_shows_what_the_command_prints(capsys) -> None:
    guide = GUIDE.read_text(encoding="utf-8")
    assert printed(capsys, ORDERS / "vancomycin_in_full.json") in guide
    assert refused(capsys, ORDERS / "morphine_too_small.json").strip() in guide


DIGITS = "0123456789"
AMOUNT = re.compile(r"([0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(\.[0-9]*[1-9])? ?(mg|g|mcg|ng)", re.ASCII)
IN_MG = {"mg": Fraction(1), "g": Fraction(1000), "mcg": Fraction(1, 1000), "ng": Fraction(1, 1_000_000)}


def mutated(text: str, chance: random.Random) -> str:
    """Return the file with one to three characters taken out, doubled, changed, or two pieces swapped."""
    characters = list(text)
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(len(characters))
        how = chance.randrange(5)
        if how == 0:
            del characters[at]
        elif how == 1:
            characters.insert(at, characters[at])
        elif how == 2:
            characters[at] = chance.choice(DIGITS + ' ,.:"{}[]-+eEmgMUkLµ\u0663\u00a0\x00')
        elif how == 3:
            other = chance.randrange(len(characters))
            characters[at], characters[other] = characters[other], characters[at]
        else:
            digits = [place for place, character in enumerate(characters) if character in DIGITS]
            characters[chance.choice(digits)] = chance.choice(DIGITS)
    return "".join(characters)


def milligrams(text: str) -> Fraction:
    """Read a mass without any code of the program."""
    whole, part, unit = AMOUNT.fullmatch(text.strip(" ")).groups()  # type: ignore[union-attr]
    return Fraction(whole.replace(",", "") + (part or "")) * IN_MG[unit]


@pytest.mark.parametrize("seed", range(200))
def test_a_mutated_file_is_refused_or_read_as_it_stands(seed: int, times) -> None:
    original = (ORDERS / "vancomycin_in_full.json").read_text(encoding="utf-8")
    chance = random.Random(seed)
    for _ in range(times(1, 20)):
        text = mutated(original, chance)
        try:
            worksheet = paper_orders.worksheet_of(text, NOW)
        except Refusal:
            continue
        (given,), (made,) = json.loads(text)["ingredients"], worksheet.ingredients
        dose, strength = milligrams(given["dose"]), Fraction(number_in(made.strength, "mg/mL"))
        assert Fraction(number_in(made.dose, "mg")) == dose
        assert abs(Fraction(number_in(made.volume, "mL")) * strength - dose) < Fraction(1, 10**6)


@pytest.mark.usefixtures("shelf")
def test_a_mutated_order_by_code_is_refused_or_read_as_it_stands(times) -> None:
    original = (ORDERS / "acyclovir_by_weight.json").read_text(encoding="utf-8")
    chance = random.Random(5)
    for _ in range(times(100, 2000)):
        text = mutated(original, chance)
        try:
            worksheet = paper_orders.worksheet_of(text, NOW)
        except Refusal:
            continue
        order = json.loads(text)
        per_kg, unit = order["doses"]["acyclovir"].rsplit("/", 1)
        weight = Fraction(order["body_weight"].removesuffix("kg").strip(" "))
        assert unit == "kg"
        assert Fraction(number_in(worksheet.ingredients[0].dose, "mg")) == milligrams(per_kg) * weight
