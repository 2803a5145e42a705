"""Orders in, changed, cancelled: what is taken, and the sentence at each field that stands in the way.

Two identifiers, allergies, weight with its date: common practice, no source.
"""

import contextlib
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compounding.formulary import codes, intake
from compounding.formulary.models import Order
from compounding.formulary.refusals import OrderClosed, OrderRefused
from compounding.formulary.typed import NAMES, OrderFields
from tests.formulary.fixed import DAY, NOW

pytestmark = pytest.mark.usefixtures("shelf")


def enter(fields: OrderFields, **other: Any) -> Order:
    return intake.enter_order(by="Ilse Varga", at=NOW, **{**fields, **other})  # type: ignore[misc]


def refusals(fields: OrderFields, **other: Any) -> dict[str, str]:
    with pytest.raises(OrderRefused) as refused:
        enter(fields, **other)
    assert Order.objects.count() == 0
    assert all(sentence in refused.value.sentence for sentence in refused.value.by_field.values())
    return refused.value.by_field


def test_an_order_is_taken_as_it_was_written(vancomycin: OrderFields) -> None:
    order = enter(vancomycin)
    order.refresh_from_db()
    assert codes.read(order.number).letter == "R"
    assert (order.patient_name, order.born_on, order.units) == ("Iris Calloway", date(1961, 3, 4), 1)
    assert order.due_at == datetime(2026, 11, 25, 11, 0, tzinfo=UTC)
    assert (order.entered_by, order.entered_at, order.state) == ("Ilse Varga", NOW, "active")
    assert [str(dose) for dose in order.doses.all()] == ["vancomycin 1,100 mg"]


def test_spaces_around_what_was_typed_do_no_harm(vancomycin: OrderFields) -> None:
    order = enter(vancomycin, ward="  Ward 6 ", doses={"dose-1": " 1.1 g "})
    assert (order.ward, order.doses.get().dose) == ("Ward 6", "1.1 g")


@pytest.mark.parametrize(
    "name",
    ["formulation", "patient_name", "allergies", "route", "prescriber", "ward", "units", "due_at"],
)
def test_a_missing_field_is_named_at_the_field(vancomycin: OrderFields, name: str) -> None:
    assert "missing" in refusals(vancomycin, **{name: "  "})[name]


def test_every_fault_is_told_at_once(vancomycin: OrderFields) -> None:
    found = refusals(vancomycin, ward="", allergies="", route="oral", doses={"dose-1": "1,5 g"})
    assert set(found) == {"ward", "allergies", "route", "dose-1"}


def test_the_date_of_birth_or_a_number_is_a_second_identifier(vancomycin: OrderFields) -> None:
    enter(vancomycin, patient_identifier="")
    enter(vancomycin, born_on="")
    with pytest.raises(OrderRefused) as refused:
        enter(vancomycin, patient_identifier="", born_on="")
    assert "second identifier" in refused.value.by_field["patient_identifier"]


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        ("1,5 g", "comma"),
        ("1,100 mg", "comma"),
        ("1e3 mg", "not"),
        ("-500 mg", "zero"),
        ("0 mg", "zero"),
        (".5 g", "point"),
        ("500.0 mg", "zero"),
        ("500", "unit"),
        ("500 stones", "unit"),
        ("500 ug", "mcg"),
        ("500 µg", "mcg"),
        ("5000 U", "units"),
        ("20 mEq", "mg"),
        ("22 mL", "volume"),
        ("", "missing"),
        ("9" * 60 + " mg", "long"),
        ("\u0665\u0660\u0660 mg", "digits"),
    ],
)
def test_a_dose_that_cannot_be_read_is_refused_in_the_readers_words(
    vancomycin: OrderFields, typed: str, word: str
) -> None:
    assert word in refusals(vancomycin, doses={"dose-1": typed})["dose-1"]


@pytest.mark.parametrize(
    ("typed", "limit"), [("1251 mg", "1,250 mg"), ("11 g", "1,250 mg"), ("249 mg", "250 mg")]
)
def test_a_dose_outside_its_limits_names_the_limit(vancomycin: OrderFields, typed: str, limit: str) -> None:
    assert limit in refusals(vancomycin, doses={"dose-1": typed})["dose-1"]


@pytest.mark.parametrize("typed", ["250 mg", "1250 mg", "1.25 g"])
def test_a_dose_at_its_limit_is_taken(vancomycin: OrderFields, typed: str) -> None:
    assert enter(vancomycin, doses={"dose-1": typed}).doses.get().dose == typed


def test_a_dose_of_an_ingredient_that_is_not_there_is_not_dropped(vancomycin: OrderFields) -> None:
    found = refusals(vancomycin, doses={"dose-1": "1 g", "dose-2": "20 mEq"})
    assert "no such ingredient" in found["dose-2"]


def test_a_dose_per_kg_needs_a_weight_with_its_date(acyclovir: OrderFields) -> None:
    assert "missing" in refusals(acyclovir, body_weight="", weighed_on="")["body_weight"]
    assert "missing" in refusals(acyclovir, weighed_on="")["weighed_on"]
    assert "missing" in refusals(acyclovir, body_weight="")["body_weight"]


def test_a_dose_per_kg_is_bounded_per_kg_and_as_a_whole(acyclovir: OrderFields) -> None:
    assert "15 mg/kg" in refusals(acyclovir, doses={"dose-1": "100 mg/kg"})["dose-1"]
    # 15 mg/kg × 110 kg = 1,650 mg, above 1,500 mg
    heavy = refusals(acyclovir, body_weight="110 kg", doses={"dose-1": "15 mg/kg"})
    assert "1,650 mg" in heavy["dose-1"]
    assert "1,500 mg" in heavy["dose-1"]
    assert "mg/kg" in refusals(acyclovir, doses={"dose-1": "620 mg"})["dose-1"]


@pytest.mark.parametrize(
    ("name", "typed"), [("body_weight", "620 kg"), ("body_weight", "0.1 kg"), ("height", "17 cm")]
)
def test_a_slipped_point_in_weight_or_height_is_found(acyclovir: OrderFields, name: str, typed: str) -> None:
    assert typed in refusals(acyclovir, **{name: typed})[name]


def test_a_weight_in_pounds_or_grams_is_refused(acyclovir: OrderFields) -> None:
    assert "kilograms" in refusals(acyclovir, body_weight="140 lb")["body_weight"]
    assert "70 kg" in refusals(acyclovir, body_weight="3200 g")["body_weight"]


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("born_on", "04.03.1961"),
        ("born_on", "2026-11-26"),
        ("born_on", "1861-03-04"),
        ("born_on", "1961-02-30"),
        ("due_at", "2026-11-25"),
        ("due_at", "14:30"),
        ("due_at", "2026-11-20T10:00"),
        ("due_at", "2027-11-25T10:00"),
        ("due_at", "0001-01-01T00:00+14:00"),
        ("due_at", "9999-12-31T23:59-12:00"),
        ("units", "0"),
        ("units", "2"),
        ("units", "1.5"),
        ("units", "-1"),
        ("units", "\u0661"),
        ("formulation", "no-such-thing"),
        ("route", "intrathecal"),
    ],
)
def test_a_field_that_cannot_be_is_refused_at_the_field(
    vancomycin: OrderFields, name: str, typed: str
) -> None:
    assert set(refusals(vancomycin, **{name: typed})) == {name}


@pytest.mark.parametrize("name", [name for name in NAMES if name != "reason"])
def test_every_field_is_bounded_and_printable(acyclovir: OrderFields, name: str) -> None:
    assert "at most" in refusals(acyclovir, **{name: "9" * 500})[name]
    assert "printed" in refusals(acyclovir, **{name: "a\x00b"})[name]


def test_a_batch_for_stock_names_no_patient(vancomycin: OrderFields) -> None:
    stock: dict[str, Any] = {
        "formulation": "ondansetron-syringes",
        "patient_name": "",
        "patient_identifier": "",
        "born_on": "",
        "allergies": "",
        "prescriber": "",
        "route": "intravenous injection",
        "units": "12",
        "doses": {"dose-1": "4 mg"},
    }
    assert "Only a batch" in refusals(vancomycin, **{**stock, "units": "1"})["patient_name"]
    assert "1 to 24" in refusals(vancomycin, **{**stock, "units": "25"})["units"]
    assert "patient’s name" in refusals(vancomycin, **{**stock, "born_on": "1961-03-04"})["patient_name"]
    order = enter(vancomycin, **stock)
    assert (order.is_for_stock, order.for_whom) == (True, "stock, 12 units")


def test_a_change_is_a_new_row_that_supersedes_the_old(vancomycin: OrderFields) -> None:
    old = enter(vancomycin)
    new = intake.change_order(
        old, by="Edda Solheim", at=NOW, reason="renal function", doses={"dose-1": "1 g"}
    )
    old.refresh_from_db()
    assert (old.state, old.reason, old.closed_by, old.superseded_by) == (
        "superseded",
        "renal function",
        "Edda Solheim",
        new,
    )
    assert (new.state, new.patient_name, new.doses.get().dose) == ("active", "Iris Calloway", "1 g")
    assert old.doses.get().dose == "1100 mg"


def test_the_same_act_sent_twice_is_done_once(vancomycin: OrderFields) -> None:
    first = enter(vancomycin, key="k1")
    assert enter(vancomycin, key="k1") == first
    assert enter(vancomycin, key="k2") != first
    change: Any = {"by": "Edda Solheim", "at": NOW, "key": "k3", "reason": "moved", "ward": "Ward 7"}
    assert intake.change_order(first, **change) == intake.change_order(first, **change)
    assert Order.objects.count() == 3


def test_a_refused_change_leaves_the_order_as_it_was(vancomycin: OrderFields) -> None:
    order = enter(vancomycin)
    with pytest.raises(OrderRefused) as refused:
        intake.change_order(order, by="Edda Solheim", at=NOW, reason="dose", doses={"dose-1": "9 g"})
    assert set(refused.value.by_field) == {"dose-1"}
    with pytest.raises(OrderRefused) as without:
        intake.change_order(order, by="Edda Solheim", at=NOW, reason=" ", ward="Ward 7")
    assert set(without.value.by_field) == {"reason"}
    order.refresh_from_db()
    assert (order.state, Order.objects.count()) == ("active", 1)


def test_a_cancelled_order_says_why_and_stays_cancelled(vancomycin: OrderFields) -> None:
    order = intake.cancel_order(enter(vancomycin), reason="discharged", by="Edda Solheim", at=NOW)
    assert (order.state, order.reason, order.closed_at) == ("cancelled", "discharged", NOW)
    with pytest.raises(OrderClosed, match="discharged"):
        intake.cancel_order(order, reason="again", by="Edda Solheim", at=NOW)
    with pytest.raises(OrderClosed):
        intake.change_order(order, by="Edda Solheim", at=NOW, reason="again", ward="Ward 7")


def test_a_cancellation_needs_its_reason(vancomycin: OrderFields) -> None:
    order = enter(vancomycin)
    with pytest.raises(OrderRefused) as refused:
        intake.cancel_order(order, reason="", by="Edda Solheim", at=NOW)
    assert set(refused.value.by_field) == {"reason"}


def test_what_an_order_says_can_be_typed_again(acyclovir: OrderFields) -> None:
    assert intake.as_typed(enter(acyclovir)) == {**acyclovir, "height": ""}


def test_an_old_weight_warns_and_does_not_forbid(acyclovir: OrderFields) -> None:
    # 30 days is the program's own default, no source
    order = enter(acyclovir, weighed_on="2026-10-15")
    assert intake.order_warnings(order, DAY) == (
        "The body weight is 41 days old. Have the patient weighed, or confirm it.",
    )
    assert intake.order_warnings(order, order.weighed_on + timedelta(days=30)) == ()  # type: ignore[operator]


def test_spaces_are_not_an_answer(acyclovir: OrderFields) -> None:
    assert "patient_identifier" in refusals(acyclovir, patient_identifier="  ", born_on=" ")
    assert "body_weight" in refusals(acyclovir, body_weight="  ")
    assert "weighed_on" in refusals(acyclovir, weighed_on="  ")
    assert "dose-1" in refusals(acyclovir, doses={"dose-1": "  ", "dose-2": " "})


EMPTY_OR_NOT = st.fixed_dictionaries({}, optional={name: st.sampled_from(["", " ", "2"]) for name in NAMES})


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(other=EMPTY_OR_NOT)
def test_no_gap_reaches_the_database(acyclovir: OrderFields, other: dict[str, str]) -> None:
    with contextlib.suppress(OrderRefused):
        assert enter(acyclovir, **other).state == "active"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from(sorted(NAMES)), typed=st.text(max_size=50))
def test_no_typed_text_is_a_fault_of_the_program(acyclovir: OrderFields, name: str, typed: str) -> None:
    with contextlib.suppress(OrderRefused):
        assert enter(acyclovir, **{name: typed}).state == "active"
