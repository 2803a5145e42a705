"""The formulary of the demo, loaded on a fixed day: every test may recompute its numbers."""

import pytest

from compounding.formulary.loading import load_formulary
from compounding.formulary.typed import OrderFields
from tests.formulary.fixed import DAY, SHARED


@pytest.fixture
def shelf(db: None) -> None:
    """Load the demo's formulary on DAY."""
    load_formulary(SHARED / "formulary", DAY)


@pytest.fixture
def vancomycin() -> OrderFields:
    """Return an order as typed that may be taken."""
    return {
        "formulation": "vancomycin-nacl-250",
        "patient_name": "Iris Calloway",
        "patient_identifier": "CD-204117",
        "born_on": "1961-03-04",
        "allergies": "none known",
        "route": "intravenous infusion",
        "prescriber": "Dr Lena Abara",
        "ward": "Ward 6",
        "units": "1",
        "due_at": "2026-11-25T11:00",
        "doses": {"dose-1": "1100 mg"},
    }


@pytest.fixture
def acyclovir(vancomycin: OrderFields) -> OrderFields:
    """Return an order by body weight that may be taken."""
    weight: OrderFields = {"body_weight": "62 kg", "weighed_on": "2026-11-20"}
    return {**vancomycin, **weight, "formulation": "acyclovir-nacl-250", "doses": {"dose-1": "10 mg/kg"}}
