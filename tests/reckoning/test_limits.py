"""What a formulation allows, each limit met exactly and passed by the least.

The limits here are examples; those that are known: potassium 10 mEq/h and vancomycin 10 mg/min (common
practice, no source), pairs as in shared/published (page or memory). Amounts are worked beside each case.
"""

import json
from dataclasses import replace

import pytest
from limited_orders import PAIRS, SALINE, about, cautions, named, potassium, with_limits
from prepared_orders import (
    ACYCLOVIR,
    CEFAZOLIN,
    VANCOMYCIN,
    bag,
    in_syringes,
    ingredient,
    order,
    stricter,
    vancomycin,
)

from compounding.reckoning.incompatibility import Incompatible
from compounding.reckoning.infusion import dose_rate_over
from compounding.reckoning.quantities import of, write
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import (
    DiluentNotAllowed,
    MissingFact,
    NotConvertible,
    TooFast,
    WrongKind,
)
from compounding.reckoning.request import Request
from compounding.reckoning.worksheet import from_plain, to_plain

RATES = [
    # 40 mEq ÷ 10 mEq/h = 4 h
    (potassium("40", of(10, "mEq/h")), 240, "40 mEq ÷ 4 h = 10 mEq/h, at most 10 mEq/h"),
    # 1,250 mg ÷ 10 mg/min = 125 min
    (with_limits(most_rate=of(10, "mg/min")), 125, "1,250 mg ÷ 125 min = 10 mg/min, at most 10 mg/min"),
    # 1 mEq ÷ 3 mEq/h = 20 min, which is no decimal of an hour
    (potassium("1", of(3, "mEq/h")), 20, "1 mEq ÷ 0.333 h = 3 mEq/h, at most 3 mEq/h"),
    # 5 mg/kg × 63 kg = 315 mg; 315 mg ÷ 63 kg ÷ 10 mg/kg/h = 0.5 h
    (
        order(
            ingredient(ACYCLOVIR, of(5, "mg/kg"), most_rate=of(10, "mg/kg/h")),
            vehicle=bag(250), body_weight=of(63, "kg"),
        ),
        30,
        "315 mg ÷ 0.5 h ÷ 63 kg = 10 mg/kg/h, at most 10 mg/kg/h",
    ),
    # √(180 cm × 80 kg ÷ 3600) = 2 m2; 300 mg ÷ 2 m2 ÷ 75 mg/m2/h = 2 h
    (
        order(
            ingredient(ACYCLOVIR, of(300, "mg"), most_rate=of(75, "mg/m2/h")),
            vehicle=bag(250), body_weight=of(80, "kg"), height=of(180, "cm"),
        ),
        120,
        "300 mg ÷ 2 h ÷ 2 m2 = 75 mg/m2/h, at most 75 mg/m2/h",
    ),
]  # fmt: skip
NAMES = ["per hour", "per minute", "thirds of an hour", "per kg", "per square metre"]


@pytest.mark.parametrize(("request_", "minutes", "line"), RATES, ids=NAMES)
def test_what_runs_just_as_fast_as_it_may_is_made_and_says_how_fast(
    request_: Request, minutes: int, line: str
) -> None:
    assert about(reckon(replace(request_, run_minutes=minutes)), " rate") == [line]


@pytest.mark.parametrize(("request_", "minutes", "line"), RATES, ids=NAMES)
def test_a_minute_less_is_too_fast(request_: Request, minutes: int, line: str) -> None:
    with pytest.raises(TooFast, match=f"runs over {minutes} min or longer"):
        reckon(replace(request_, run_minutes=minutes - 1))


def test_too_fast_is_said_in_words() -> None:
    # 40 mEq × 60 ÷ 239 = 10.0418 mEq/h
    with pytest.raises(TooFast) as refused:
        reckon(potassium("40", of(10, "mEq/h"), run_minutes=239))
    assert refused.value.sentence == (
        "40 mEq of potassium chloride over 239 min is 10.04 mEq/h, above the limit of 10 mEq/h. "
        "Choose a preparation that runs over 240 min or longer."
    )


def test_a_rate_needs_its_time_and_its_patient() -> None:
    with pytest.raises(MissingFact, match="The time over which it runs is missing"):
        reckon(potassium("40", of(10, "mEq/h")))
    with pytest.raises(MissingFact, match="The body weight is missing"):
        reckon(potassium("40", of("0.5", "mEq/kg/h"), run_minutes=480))
    with pytest.raises(MissingFact, match="The body surface is missing"):
        reckon(potassium("40", of(10, "mEq/m2/h"), run_minutes=480, body_weight=of(70, "kg")))


def test_a_rate_in_another_kind_of_unit_is_refused() -> None:
    with pytest.raises(NotConvertible):
        reckon(potassium("40", of(10, "mg/h"), run_minutes=480))
    with pytest.raises(WrongKind):
        reckon(potassium("40", of(10, "mL/h"), run_minutes=480))


def test_without_a_limit_no_rate_is_worked_out() -> None:
    assert about(reckon(potassium(run_minutes=1)), " rate") == []


def test_a_dose_rate_over_a_time_counts_the_patient() -> None:
    # 420 mg ÷ 60 min ÷ 70 kg = 0.1 mg/kg/min = 100 mcg/kg/min
    found = dose_rate_over(of(420, "mg"), of(1, "h"), "mcg/kg/min", of(70, "kg"))
    assert write(found.amount) == "100 mcg/kg/min"
    assert found.lines[0].text == "420 mg ÷ 60 min ÷ 70 kg = 100 mcg/kg/min"


@pytest.mark.parametrize("allowed", [SALINE, "Sodium chloride 0.9%", "saline"])
def test_a_diluent_on_the_list_is_allowed_as_a_solution_or_as_a_product(allowed: str) -> None:
    assert reckon(with_limits(diluents=("dextrose 5 %", allowed))).proof


def test_a_diluent_off_the_list_is_refused_in_words() -> None:
    with pytest.raises(DiluentNotAllowed) as refused:
        reckon(with_limits(diluents=("dextrose 5 %", "lactated ringer's")))
    assert refused.value.sentence == (
        "vancomycin may not be mixed in sodium chloride 0.9%. "
        "Choose a preparation in dextrose 5 % or lactated ringer's."
    )


def test_a_list_asks_nothing_of_an_undiluted_syringe() -> None:
    assert reckon(in_syringes(ingredient(ACYCLOVIR, of(100, "mg"), diluents=("dextrose 5 %",)))).proof


def test_a_row_that_stops_refuses_two_drugs() -> None:
    parts = (ingredient(VANCOMYCIN, of(500, "mg")), ingredient(CEFAZOLIN, of(330, "mg")))
    with pytest.raises(Incompatible, match="vancomycin with cefazolin"):
        reckon(order(*parts, vehicle=named(SALINE), pairs=PAIRS))
    assert reckon(order(*parts, vehicle=named(SALINE))).cautions == (), "without a table nothing is looked up"


def test_a_row_that_stops_refuses_a_drug_in_a_diluent_and_what_dissolved_another() -> None:
    drug = replace(ingredient(ACYCLOVIR, of(100, "mg")), substance="ceftriaxone")
    with pytest.raises(Incompatible, match="ceftriaxone with lactated ringer's"):
        reckon(order(drug, vehicle=named("lactated ringer's"), pairs=PAIRS))
    assert VANCOMYCIN.reconstitution is not None
    made = replace(VANCOMYCIN.reconstitution, solution="ringer's")
    other = ingredient(replace(VANCOMYCIN, reconstitution=made), of(500, "mg"))
    with pytest.raises(Incompatible):
        reckon(order(replace(other, substance="ceftriaxone"), vehicle=named(SALINE), pairs=PAIRS))


def test_a_row_that_needs_a_reason_is_a_caution() -> None:
    drug = replace(ingredient(ACYCLOVIR, of(100, "mg")), substance="norepinephrine")
    sheet = reckon(order(drug, vehicle=named(SALINE), pairs=PAIRS))
    assert [(one.code, one.text) for one in sheet.cautions] == [
        (
            "pair-1",
            f"norepinephrine with {SALINE}. The label of the concentrate asks for dextrose; premixes in "
            "sodium chloride exist. A pharmacist gives a reason (Norepinephrine label (copy)).",
        )
    ]
    assert about(sheet, "pairs looked up") == [
        f"norepinephrine, {SALINE}: 1 listed, with a reason to be given; an absent row is not a promise"
    ]
    assert reckon(order(drug, vehicle=named("dextrose 5 %"), pairs=PAIRS)).cautions == ()


def test_an_absent_row_is_not_a_promise_and_the_worksheet_says_so() -> None:
    sheet = reckon(vancomycin(vehicle=named(SALINE), pairs=PAIRS))
    assert about(sheet, "pairs looked up") == [
        f"vancomycin, sterile water, {SALINE}: no pair is listed; an absent row is not a promise"
    ]
    alone = in_syringes(ingredient(ACYCLOVIR, of(100, "mg")), pairs=PAIRS)
    assert about(reckon(alone), "pairs looked up") == [], "one thing alone meets nothing"


@pytest.mark.parametrize(("days", "is_old"), [(None, False), (0, False), (30, False), (31, True)])
def test_an_old_body_weight_needs_a_reason_where_the_dose_rests_on_it(days: int | None, is_old: bool) -> None:
    weighed = {"body_weight": of(60, "kg"), "weighed_days": days}
    by_weight = order(ingredient(ACYCLOVIR, of(10, "mg/kg")), vehicle=bag(250), **weighed)
    text = (
        "The body weight is 31 days old, more than 30 days. "
        "Have the patient weighed, or say why it still holds."
    )
    assert cautions(by_weight) == ([("weight-old", text)] if is_old else [])
    absolute = potassium(**weighed)
    assert cautions(absolute) == []
    by_rate = potassium("40", of("0.5", "mEq/kg/h"), run_minutes=480, **weighed)
    assert [code for code, _ in cautions(by_rate)] == (["weight-old"] if is_old else [])


def test_the_days_are_the_policys() -> None:
    request = order(
        ingredient(ACYCLOVIR, of(10, "mg/kg")), vehicle=bag(250), body_weight=of(60, "kg"), weighed_days=8,
    )  # fmt: skip
    assert cautions(replace(request, policy=stricter(weight_days=8))) == []
    assert len(cautions(replace(request, policy=stricter(weight_days=7)))) == 1


def test_cautions_are_kept_with_the_worksheet_and_old_worksheets_are_still_read() -> None:
    sheet = reckon(with_limits(usual_most=of(1, "g")))
    assert len(sheet.cautions) == 1
    plain = json.loads(json.dumps(to_plain(sheet)))
    assert from_plain(plain) == sheet
    del plain["cautions"]
    assert from_plain(plain) == replace(sheet, cautions=())
