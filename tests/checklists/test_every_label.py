"""Every label of the demo, of every kind: no error-prone form in any, and nothing that it must not say.

Source: the linter, which finds each published form in `tests/reckoning/test_bad_labels.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from django.utils import timezone

from cast import ROOT, Cast
from compounding.formulary import worksheets
from compounding.formulary.loading import load_orders
from compounding.formulary.models import Formulation, Order, Product
from compounding.reckoning.labelling import (
    BinFacts,
    LabelFacts,
    LabelText,
    OpenedFacts,
    ampoule_draws,
    bin_lines,
    label_lines,
    lint,
    opened_lines,
    syringe_lines,
)
from compounding.reckoning.worksheet import Worksheet

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC).isoformat()


@pytest.fixture
def demo(everybody: Cast) -> list[tuple[Order, Worksheet]]:
    """The orders of the demo, one at least of every formulation, with their worksheets."""
    orders = load_orders(ROOT / "shared" / "scenario" / "orders.json", at=timezone.now(), by="test")
    return [(order, worksheets.for_order(order, timezone.now())) for order in orders]


def labels_of(order: Order, worksheet: Worksheet) -> Iterator[LabelText]:
    patient = order.patient_name
    identifiers = (("No.", order.patient_identifier or "CD-1"), ("Born", "4 Mar 1961")) if patient else ()
    for unit in (1, worksheet.units):
        facts = LabelFacts(
            patient, identifiers, order.route, order.formulation.rate, "PABC", unit, worksheet.units
        )
        yield label_lines(worksheet, facts)
    for number in ampoule_draws(worksheet):
        yield syringe_lines(worksheet, number, "PABC")
    yield bin_lines(worksheet, BinFacts(worksheet.units, order.ward, "PABC", worksheet.beyond_use_at))


def opened(product: Product) -> LabelText:
    strength = product.reconstitution_strength
    return opened_lines(OpenedFacts(product.name, strength, "L1", NOON, NOON, "Mara Okonjo"))


def test_the_linter_finds_no_fault_in_any_label_of_the_demo(demo: list[tuple[Order, Worksheet]]) -> None:
    labels = [label for order, sheet in demo for label in labels_of(order, sheet)]
    labels += [opened(product) for product in Product.objects.all()]
    assert {order.formulation_id for order, _ in demo} == set(
        Formulation.objects.values_list("pk", flat=True)
    )
    assert len(labels) > 70
    assert [fault for label in labels for fault in label.faults()] == []
    assert [fault for label in labels for line in label.lines for fault in lint(line.text)] == []


def test_a_drawn_syringe_says_what_is_in_it_and_no_amount_that_is_read_blind(
    demo: list[tuple[Order, Worksheet]],
) -> None:
    sheets = {sheet.formulation: sheet for _, sheet in demo}
    aminophylline = sheets["aminophylline-d5w-100"]
    numbers = ampoule_draws(aminophylline)
    text = syringe_lines(aminophylline, numbers[0], "PABC")
    assert [line.text for line in text.lines] == [
        "aminophylline 25 mg/mL",
        "Not to be given: it goes into the preparation",
        "Drawn from ampoule through a filter needle",
        "Protect from light",
        "PABC",
        f"syringe {numbers[0]} of {len(aminophylline.draws)}",
    ]
    assert not any(" mL" in line.text for line in text.lines)
    assert {name for name, sheet in sheets.items() if ampoule_draws(sheet)} == {
        "aminophylline-d5w-100",
        "norepinephrine-d5w-250",
    }


def test_a_bin_says_how_many_units_alike_it_holds_until_when(demo: list[tuple[Order, Worksheet]]) -> None:
    batch = next(sheet for _, sheet in demo if sheet.units == 12)
    text = bin_lines(batch, BinFacts(11, "Theatre stock", "PABC", NOON))
    assert text.at("drug 1") == "ondansetron 4 mg per 2 mL (2 mg/mL)"
    assert text.at("count") == "Bin of 11 syringes, alike"
    assert text.at("beyond use") == "Beyond use 25 Nov 2026 12:00: begin before then"
    assert text.at("storage").startswith("Store ")


def test_an_opened_container_says_since_when_and_after_when_it_is_waste(everybody: Cast) -> None:
    powder = Product.objects.get(gtin="02410100000219")
    assert [line.text for line in opened(powder).lines] == [
        "vancomycin 1 g powder vial",
        "As drawn 50 mg/mL",
        "Opened 25 Nov 2026 12:00",
        "Discard after 25 Nov 2026 12:00",
        "Lot L1",
        "Mara Okonjo",
    ]
