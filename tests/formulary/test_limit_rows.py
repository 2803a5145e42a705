"""The limits as rows of the formulary: what the demo's say, and which rows are no limits.

Potassium 10 mEq/h, vancomycin 10 mg/min: common practice, no source. Magnesium 150 mg/min: compendium (page).
Doses and days worked by hand beside each case.
"""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.utils import timezone

from compounding.formulary import intake, policy, worksheets
from compounding.formulary.loading import load_orders
from compounding.formulary.models import Formulation, FormulationIngredient, Order, Product
from compounding.formulary.pairs import reviewed_pairs
from compounding.formulary.paper_facts import PaperOrderRefused
from compounding.formulary.paper_orders import worksheet_of
from compounding.formulary.typed import OrderFields
from compounding.reckoning.incompatibility import Verdict, plain_name
from compounding.reckoning.refusals import DiluentNotAllowed, Refusal, TooFast
from compounding.reckoning.worksheet import Worksheet
from tests.formulary.fixed import NOW, SHARED

pytestmark = pytest.mark.usefixtures("shelf")


def entered(fields: OrderFields, formulation: str, *doses: str, **more: str) -> Order:
    typed = {f"dose-{at}": dose for at, dose in enumerate(doses, 1)}
    asked = {**fields, "formulation": formulation, "doses": typed, **more}
    return intake.enter_order(by="Ilse Varga", at=NOW, **asked)  # type: ignore[typeddict-item]


def rates(worksheet: Worksheet) -> list[str]:
    return [line.text for line in worksheet.working if line.about.endswith(" rate")]


def change(code: str, **columns: Any) -> None:
    Formulation.objects.filter(code=code).update(**columns)


def change_ingredient(code: str, **columns: Any) -> None:
    FormulationIngredient.objects.filter(formulation__code=code, position=1).update(**columns)


@pytest.mark.parametrize(
    ("code", "doses", "minutes", "line"),
    [
        # 1,250 mg ÷ 10 mg/min
        ("vancomycin-nacl-250", ["1250 mg"], 125, "1,250 mg ÷ 125 min = 10 mg/min, at most 10 mg/min"),
        # 40 mEq ÷ 10 mEq/h
        ("potassium-nacl-1000", ["40 mEq"], 240, "40 mEq ÷ 4 h = 10 mEq/h, at most 10 mEq/h"),
    ],
)
def test_the_demos_rates_are_enforced_to_the_minute(
    vancomycin: OrderFields, code: str, doses: list[str], minutes: int, line: str
) -> None:
    order = entered(vancomycin, code, *doses)
    change(code, run_minutes=minutes)
    order.refresh_from_db()
    assert rates(worksheets.for_order(order, NOW)) == [line]
    change(code, run_minutes=minutes - 1)
    with pytest.raises(TooFast, match=f"runs over {minutes} min or longer"):
        worksheets.for_order(Order.objects.get(pk=order.pk), NOW)


def test_each_drug_of_a_bag_has_its_rate(vancomycin: OrderFields) -> None:
    # over 8 h: 20 mEq ÷ 8 h = 2.5 mEq/h; 2,000 mg ÷ 480 min = 4.1666 mg/min
    order = entered(vancomycin, "potassium-magnesium-nacl-1000", "20 mEq", "2 g")
    assert rates(worksheets.for_order(order, NOW)) == [
        "20 mEq ÷ 8 h = 2.5 mEq/h, at most 10 mEq/h",
        "2 g ÷ 480 min = 4.17 mg/min, at most 150 mg/min",
    ]


def test_the_label_keeps_the_formulations_own_words_for_the_rate(vancomycin: OrderFields) -> None:
    assert entered(vancomycin, "vancomycin-nacl-250", "1250 mg").formulation.rate == "over 2.5 hours"


@pytest.mark.parametrize(
    ("dose", "said"),
    [
        ("1500 mg", []),
        ("1501 mg", ["1,501 mg of vancomycin is more than the usual 1,500 mg."]),
        ("1000 mg", []),
        ("2 g", ["2 g of vancomycin is more than the usual 1,500 mg."]),
    ],
)
def test_above_the_usual_dose_a_reason_is_asked_for(
    vancomycin: OrderFields, dose: str, said: list[str]
) -> None:
    worksheet = worksheets.for_order(entered(vancomycin, "vancomycin-nacl-500", dose), NOW)
    assert [one.text for one in worksheet.cautions] == said


def test_the_scenario_ends_with_an_order_that_needs_a_reason() -> None:
    last = load_orders(SHARED / "scenario" / "orders.json", at=NOW, by="demo")[-1]
    assert [one.text for one in worksheets.for_order(last, NOW).cautions] == [
        "1,750 mg of vancomycin is more than the usual 1,500 mg."
    ]


def test_below_the_usual_dose_too(vancomycin: OrderFields) -> None:
    found = [
        [
            one.code
            for one in worksheets.for_order(entered(vancomycin, "vancomycin-nacl-250", dose), NOW).cautions
        ]
        for dose in ("500 mg", "499 mg")
    ]
    assert found == [[], ["dose-below-usual-1"]]


def test_a_usual_concentration_is_a_row_too(vancomycin: OrderFields) -> None:
    # 1,100 mg ÷ 272 mL = 4.044 mg/mL
    order = entered(vancomycin, "vancomycin-nacl-250", "1100 mg")
    for limit, codes in (("4.05 mg/mL", []), ("4.04 mg/mL", ["concentration-above-usual-1"])):
        change_ingredient("vancomycin-nacl-250", usual_most_concentration=limit)
        assert [one.code for one in worksheets.for_order(order, NOW).cautions] == codes


def test_a_diluent_off_the_list_is_refused(vancomycin: OrderFields) -> None:
    order = entered(vancomycin, "vancomycin-nacl-250", "1100 mg")
    change_ingredient("vancomycin-nacl-250", diluents="dextrose 5 %")
    with pytest.raises(DiluentNotAllowed, match="vancomycin may not be mixed in sodium"):
        worksheets.for_order(order, NOW)
    change_ingredient("vancomycin-nacl-250", diluents="dextrose 5 %, sodium chloride 0.9 % 250 mL bag")
    assert worksheets.for_order(order, NOW).proof


def test_the_reviewed_pairs_are_looked_up_by_what_a_diluent_is(vancomycin: OrderFields) -> None:
    order = entered(vancomycin, "norepinephrine-d5w-250", "4 mg", route="central intravenous infusion")
    assert worksheets.for_order(order, NOW).cautions == ()
    change("norepinephrine-d5w-250", diluent=Product.objects.get(name="sodium chloride 0.9 % 250 mL bag"))
    (caution,) = worksheets.for_order(Order.objects.get(pk=order.pk), NOW).cautions
    assert caution.code == "pair-1"
    assert caution.text.startswith("norepinephrine with sodium chloride 0.9 %. The label of the concentrate")


def test_every_pair_that_needs_a_reason_is_worded_without_a_volume() -> None:
    rows = [pair for pair in reviewed_pairs().pairs if pair.verdict is Verdict.REASON]
    assert len(rows) == 4
    assert [pair for pair in rows if " mL" in pair.why + pair.source] == []


def test_every_diluent_of_the_demo_says_what_it_is() -> None:
    filled = Product.objects.filter(is_diluent=True).exclude(volume="")
    assert set(filled.values_list("solution", flat=True)) == {
        "sodium chloride 0.9 %",
        "dextrose 5 %",
        "sterile water for injection",
    }
    known = {name for pair in reviewed_pairs().pairs for name in (pair.first, pair.second)}
    assert plain_name("Dextrose 5%") in known, "the table names it the same way"


@pytest.mark.parametrize(("days", "codes"), [(30, []), (31, ["weight-old"])])
def test_a_body_weight_older_than_the_sites_days_needs_a_reason(
    acyclovir: OrderFields, days: int, codes: list[str]
) -> None:
    weighed = (timezone.localdate(NOW) - timedelta(days=days)).isoformat()
    order = entered(acyclovir, "acyclovir-nacl-250", "10 mg/kg", weighed_on=weighed)
    assert [one.code for one in worksheets.for_order(order, NOW).cautions] == codes
    policy.change_policy(reason="the committee", by="Edda", weight_days=31)
    assert worksheets.for_order(order, NOW).cautions == ()


def test_the_osmolarity_counts_for_small_veins_only(vancomycin: OrderFields) -> None:
    # 40 mEq in 20 mL onto 1,000 mL of 308 mOsmol/L: (308 + 80) mOsmol ÷ 1.02 L = 380.4 mOsmol/L
    order = entered(vancomycin, "potassium-nacl-1000", "40 mEq")
    for limit, codes in (("381 mOsmol/L", []), ("380 mOsmol/L", ["osmolarity-above-limit"])):
        policy.change_policy(reason="the committee", by="Edda", peripheral_limit=limit)
        assert [one.code for one in worksheets.for_order(order, NOW).cautions] == codes
    Order.objects.filter(pk=order.pk).update(route="central intravenous infusion")
    assert worksheets.for_order(Order.objects.get(pk=order.pk), NOW).cautions == ()


@pytest.mark.parametrize(
    ("route", "is_peripheral"),
    [
        ("intravenous infusion", True),
        ("Peripheral intravenous infusion", True),
        ("central intravenous infusion", False),
        ("intramuscular injection", False),
    ],
)
def test_an_intravenous_route_may_be_peripheral_unless_it_is_named_central(
    route: str, is_peripheral: bool
) -> None:
    assert Formulation.is_peripheral(route) is is_peripheral


# rows that are no limits


def faults(row: Model, **changes: Any) -> dict[str, list[str]]:
    for name, value in changes.items():
        setattr(row, name, value)
    with pytest.raises(ValidationError) as refused:
        row.full_clean()
    return refused.value.message_dict


def ingredient_of(code: str) -> FormulationIngredient:
    return FormulationIngredient.objects.filter(formulation__code=code).order_by("position")[0]


def test_a_rate_is_in_the_unit_of_the_dose() -> None:
    row = ingredient_of("potassium-nacl-1000")
    assert faults(row, most_rate="10 mg/h") == {
        "most_rate": ["This must be in mEq, or in a unit that becomes it."]
    }
    assert list(faults(row, most_rate="10 mL/h")) == ["most_rate"]
    row.most_rate = "0.2 mEq/kg/h"
    row.full_clean()


def test_a_rate_of_a_dose_by_weight_counts_its_content() -> None:
    row = ingredient_of("acyclovir-nacl-250")
    row.formulation.run_minutes, row.most_rate = 60, "25 mg/min"
    row.full_clean()


def test_a_rate_needs_its_minutes() -> None:
    row = ingredient_of("potassium-nacl-1000")
    row.formulation.run_minutes = None
    assert faults(row) == {
        "most_rate": ["A rate needs its time: write the minutes over which the preparation runs."]
    }
    assert list(faults(Formulation.objects.all()[0], run_minutes=0)) == ["run_minutes"]


@pytest.mark.parametrize("name", ["usual_least", "usual_most"])
def test_a_usual_dose_is_in_the_unit_of_the_dose(name: str) -> None:
    assert list(faults(ingredient_of("potassium-nacl-1000"), **{name: "40 mg"})) == [name]


def test_a_diluent_says_what_it_is() -> None:
    bag = Product.objects.get(name="dextrose 5 % 250 mL bag")
    assert faults(bag, solution="") == {"solution": ["This kind of product needs it."]}


# the same in an order on paper


def on_paper(**more: Any) -> str:
    order = json.loads((SHARED / "guide" / "orders" / "vancomycin_in_full.json").read_text(encoding="utf-8"))
    for name in ("run_minutes", "peripheral"):
        if name in more:
            order[name] = more.pop(name)
    order["ingredients"][0] |= more
    return json.dumps(order)


def test_an_order_on_paper_keeps_the_same_limits() -> None:
    # 1,100 mg ÷ 10 mg/min = 110 min
    limits = {
        "most_rate": "10 mg/min",
        "diluents": "dextrose 5 %, sodium chloride 0.9 %",
        "usual_most": "1 g",
    }
    sheet = worksheet_of(on_paper(run_minutes=110, **limits), NOW)
    assert [one.text for one in sheet.cautions] == ["1,100 mg of vancomycin is more than the usual 1 g."]
    for fault, more in ((TooFast, {"run_minutes": 109}), (DiluentNotAllowed, {"diluents": "dextrose 5 %"})):
        with pytest.raises(fault):
            worksheet_of(on_paper(**{"run_minutes": 110, **limits, **more}), NOW)


@pytest.mark.parametrize(
    "more",
    [
        {"run_minutes": 0},
        {"run_minutes": "60"},
        {"peripheral": "yes"},
        {"most_rate": "10 mg"},
        {"diluents": ["dextrose 5 %"]},
        {"usual_most": "a lot"},
    ],
    ids=lambda more: next(iter(more)),
)
def test_a_limit_on_paper_that_cannot_be_read_is_told(more: dict[str, Any]) -> None:
    with pytest.raises(PaperOrderRefused):
        worksheet_of(on_paper(**more), NOW)


def test_a_rate_without_its_minutes_is_told_on_paper() -> None:
    with pytest.raises(Refusal, match="The time over which it runs is missing"):
        worksheet_of(on_paper(most_rate="10 mg/min"), NOW)
