"""The desk's calculators: answers with their working, faults at their fields, and nothing written.

Answers recomputed by hand beside each case; those marked with a WX number are published examples
(shared/published/worked_examples.json).
"""

from typing import Any
from urllib.parse import urlencode

import pytest
from django.test import Client

from cast import Cast
from checklists.worklists.calculator import CALCULATORS, screen
from tests.checklists.walks import everything, sign_in, words

USED = {
    "dose": {"dose": "15 mg/kg", "strength": "50 mg/mL", "weight": "70 kg", "height": ""},
    "dilution": {"stock": "30 %", "wanted": "12 %", "total": "60 mL"},
    "alligation": {"stronger": "10 %", "weaker": "5 %", "wanted": "8.5 %", "total": "150 mL"},
    "equivalents": {"substance": "magnesium sulfate heptahydrate", "amount": "2 g", "ion": ""},
    "rate": {"volume": "500 mL", "time": "8 h", "set": "10 gtt/mL"},
    "dose-rate": {"order": "5 mcg/kg/min", "strength": "200 mg/250 mL", "weight": "95 kg", "set": ""},
    "beyond-use": {
        "category": "2", "method": "aseptic", "tested": "no", "only_sterile": "yes", "storage": "fridge",
        "started_at": "2026-11-25T09:00", "stability": "14 days", "stability_source": "label",
        "own_limit": "",
    },
    "syringe": {"volume": "22 mL", "hazardous": "no", "strength": ""},
}  # fmt: skip
HOSTILE = (
    "", " ", "1.0 mg", ".5 mL", "5 U", "1,5 mg", "-3 mL", "0 mL", "5", "\u0661 mg", "<script>x</script>",
    "1e9 mg", "9" * 500, "5 mL", "5 mg", "5 mEq", "5 mEq/mL", "5 %", "\x00", "\ud7ff", "2026-13-45T99:99",
    "0001-01-01T00:00", "9999-12-31T23:59+14:00", "999999999 mg", "0.000001 mL", "0.000001 mg/kg",
    "999999999 gtt/mL", "yes", "nobody",
)  # fmt: skip


def asked(browser: Client, slug: str, **facts: str) -> Any:
    return browser.get(f"/calculator/?{urlencode({'which': slug, **USED[slug], **facts})}")


@pytest.fixture
def browser(everybody: Cast) -> Client:
    return sign_in(everybody["pharmacist"])


@pytest.mark.parametrize(
    ("slug", "facts", "said"),
    [
        # 15 mg/kg × 70 kg = 1,050 mg ÷ 50 mg/mL = 21 mL
        ("dose", {}, ["1,050 mg", "21 mL", "15 mg/kg × 70 kg = 1,050 mg", "1,050 mg ÷ 50 mg/mL = 21 mL"]),
        # WX016
        ("dose", {"dose": "0.01 g", "strength": "80 mg/2 mL"}, ["0.25 mL", "10 mg ÷ 40 mg/mL = 0.25 mL"]),
        # WX098, WX099
        ("dilution", {}, ["24 mL", "36 mL", "12 % × 60 mL ÷ 30 % = 24 mL", "60 mL − 24 mL = 36 mL"]),
        # WX102, WX103
        ("alligation", {}, ["105 mL", "45 mL"]),
        # WX179 reckoned from 2 g: 16.23 mEq; 2,000 ÷ 246.47 = 8.11 mmol
        ("equivalents", {}, ["2,000 mg", "8.11 mmol", "Magnesium 16.23 mEq", "16.23 mOsmol"]),
        ("equivalents", {"amount": "16 mEq", "ion": "magnesium"}, ["1,971.76 mg", "8 mmol"]),
        # WX246
        ("rate", {}, ["62.5 mL/h", "10 gtt/min", "10.42 gtt/min, counted as 10 gtt/min"]),
        # WX263
        ("dose-rate", {}, ["35.63 mL/h", "5 mcg/kg/min × 95 kg × 60 min/h = 28,500 mcg/h"]),
        # USP <797> 2023, Category 2, only sterile parts, fridge: 10 d (page)
        ("beyond-use", {}, ["5 Dec 2026 09:00", "Set by: Table limit Category 2", "Stability: 14 d"]),
        ("beyond-use", {"stability": "48 h"}, ["27 Nov 2026 09:00", "Set by: Stability: 2 d"]),
        # published practice: 22 mL in a 30 mL syringe; ISO 7886-1: 4 percent
        ("syringe", {}, ["22 mL in a 30 mL syringe", "syringe 4 %: expected 4 %"]),
        # 75 percent of 20 mL is 15 mL
        ("syringe", {"volume": "16 mL", "hazardous": "yes"}, ["16 mL in a 30 mL syringe"]),
        # 0.006 mL of 10 mg/mL holds 0.06 mg: 0.5 mL in 50 mL is 0.1 mg/mL, of which 0.6 mL
        ("syringe", {"volume": "0.006 mL", "strength": "10 mg/mL"}, ["0.6 mL in a 1 mL", "0.1 mg/mL"]),
    ],
)  # fmt: skip
def test_each_answers_with_its_working(
    browser: Client, slug: str, facts: dict[str, str], said: list[str]
) -> None:
    answer = asked(browser, slug, **facts)
    assert answer.status_code == 200
    told = words(answer)
    assert [text for text in said if text not in told] == []
    assert "field-error" not in answer.content.decode()


@pytest.mark.parametrize(
    ("slug", "name", "text", "sentence"),
    [
        ("dose", "dose", "1.0 mg", "“1.0” ends in a zero after the point"),
        ("dose", "dose", "", "This is empty. Write a number and its unit, such as 500 mg."),
        ("dose", "weight", "70", "“70” is not an amount. Write a plain number and a unit, such as 70 kg."),
        ("dilution", "total", "50 mg", "50 mg is a mass; a volume is needed here, such as 2.5 mL."),
        ("rate", "set", "20", "such as 20 gtt/mL"),
        ("equivalents", "substance", "water", "This is empty. Write one of those to choose from."),
        ("beyond-use", "category", "4", "This is empty. Write one of those to choose from."),
        ("beyond-use", "started_at", "noon", "“noon” is not a date and time. Write it as 2026-11-25T09:00."),
        ("syringe", "volume", "5 cc", "“cc” is often misread. Write mL."),
    ],
)
def test_a_wrong_input_is_told_at_its_field_and_nothing_is_lost(
    browser: Client, slug: str, name: str, text: str, sentence: str
) -> None:
    answer = asked(browser, slug, **{name: text})
    shown = answer.context["screen"].here
    typed = {field.name: field.typed for field in shown.fields}
    assert {field.name: field.fault for field in shown.fields if field.fault}.keys() == {name}
    assert sentence in words(answer)
    assert typed == {**USED[slug], name: text}
    assert f'id="{name}-fault"' in answer.content.decode()


@pytest.mark.parametrize(
    ("slug", "facts", "sentence"),
    [
        ("dose", {"strength": "2 mEq/mL"}, "cannot become"),
        ("dose", {"weight": ""}, "The body weight is missing"),
        ("alligation", {"wanted": "12 %"}, "one between 5 % and 10 %"),
        ("equivalents", {"amount": "20 mEq"}, "The ion is missing"),
        ("equivalents", {"amount": "20 mEq", "ion": "sodium"}, "The ion of magnesium sulfate heptahydrate"),
        ("rate", {"volume": "1 mL"}, "A drop rate cannot be"),
        ("beyond-use", {"category": "1", "storage": "freezer"}, "Category 1 may not be kept in the freezer"),
        ("beyond-use", {"stability_source": ""}, "given without a source"),
        ("syringe", {"volume": "0.006 mL"}, "0.006 mL is not measurable this way"),
    ],
)
def test_what_the_arithmetic_refuses_is_told_and_nothing_is_lost(
    browser: Client, slug: str, facts: dict[str, str], sentence: str
) -> None:
    answer = asked(browser, slug, **facts)
    assert sentence in words(answer)
    assert answer.context["screen"].answer is None
    assert {field.name: field.typed for field in answer.context["screen"].here.fields} == USED[slug] | facts


def test_what_was_typed_is_shown_as_text(browser: Client) -> None:
    page = asked(browser, "dose", dose='"><script>alert(1)</script>').content.decode()
    assert "<script>alert" not in page
    assert "&quot;&gt;&lt;script&gt;" in page


@pytest.mark.parametrize("slug", USED)
def test_no_hostile_input_is_a_fault_of_the_program(db: None, slug: str) -> None:
    for name in USED[slug]:
        for text in HOSTILE:
            shown = screen(slug, {**USED[slug], name: text})
            faults = [field.fault for field in shown.here.fields if field.fault]
            assert faults or shown.refusal or shown.answer


def test_an_empty_form_has_neither_fault_nor_answer(browser: Client) -> None:
    for one in CALCULATORS:
        answer = browser.get(f"/calculator/?which={one.slug}")
        assert str(one.title) in words(answer)
        assert "field-error" not in answer.content.decode()
        assert answer.context["screen"].answer is None
    assert browser.get("/calculator/?which=no-such").context["screen"].here.slug == CALCULATORS[0].slug


def test_every_calculator_is_tried_here() -> None:
    assert {one.slug: {field.name for field in one.fields} for one in CALCULATORS} == {
        slug: set(facts) for slug, facts in USED.items()
    }


@pytest.mark.parametrize("who", ["technician", "pharmacist", "supervisor"])
def test_everybody_may_reckon_and_nothing_is_written(everybody: Cast, who: str) -> None:
    browser = sign_in(everybody[who])
    before = everything()
    for slug in USED:
        assert asked(browser, slug).status_code == 200
    assert everything() == before


def test_nobody_reckons_unsigned_and_nothing_is_posted(browser: Client) -> None:
    assert Client().get("/calculator/").status_code == 302
    assert browser.post("/calculator/", USED["dose"]).status_code == 405
