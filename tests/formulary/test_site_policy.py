"""The site's limits: each change a new row with its reason, never one that switches a safeguard off."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError

from compounding.formulary import policy
from compounding.formulary.models import SitePolicy
from compounding.formulary.refusals import PolicyRefused
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import of
from compounding.reckoning.worksheet import Syringe
from tests.formulary.fixed import NOW

pytestmark = pytest.mark.django_db


def test_without_a_row_the_programs_defaults_hold() -> None:
    assert policy.current_policy() == Policy()
    assert policy.weight_days() == 30


def test_a_change_is_a_new_version_with_all_other_limits_kept() -> None:
    row = policy.change_policy(reason="committee of May", by="Edda", at=NOW, agreement_percent=Decimal(3))
    assert (row.version, row.reason, row.changed_by, row.at) == (2, "committee of May", "Edda", NOW)
    assert policy.current_policy() == Policy(version=2, agreement_percent=Decimal(3))
    policy.change_policy(reason="weights", by="Edda", weight_days=7, half_marks_from="0.5 mL")
    assert policy.current_policy() == Policy(
        3, agreement_percent=Decimal(3), half_marks_from=of("0.5", "mL"), weight_days=7
    )
    assert policy.weight_days() == 7
    assert SitePolicy.objects.count() == 2


def test_the_stock_of_syringes_is_read_in_order_of_size() -> None:
    policy.change_policy(reason="no other in stock", by="Edda", syringes="10 mL/0.5 mL, 1 mL/0.01 mL")
    assert policy.current_policy().syringes == (
        Syringe(of(1, "mL"), of("0.01", "mL")),
        Syringe(of(10, "mL"), of("0.5", "mL")),
    )


@pytest.mark.parametrize(
    "change",
    [
        {"agreement_percent": Decimal(11)},
        {"hazardous_fill_percent": Decimal(80)},
        {"surface_minutes": 60},
        {"glove_minutes": 45},
        {"in_process_hours": 0},
        {"always_by_plunger": "sometimes"},
        {"single_dose_hours": 13},
        {"multi_dose_days": 29},
        {"alcohol_dry_seconds": 0},
        {"rounding_limit_percent": Decimal(-1)},
        {"half_marks_from": "1.0 mL"},
        {"half_marks_from": "1 mg"},
        {"syringes": ""},
        {"syringes": "3 mL"},
        {"syringes": "3 mL/5 mL"},
        {"syringes": "3 mg/0.1 mg"},
        {"reason": "  "},
    ],
)
def test_a_limit_out_of_bounds_or_without_reason_is_refused(change: dict[str, Any]) -> None:
    with pytest.raises(PolicyRefused):
        policy.change_policy(**{"reason": "because", "by": "Edda", **change})
    assert SitePolicy.objects.count() == 0


def test_the_database_itself_keeps_the_reason() -> None:
    with pytest.raises(IntegrityError):
        SitePolicy.objects.create(**policy.limits_in_force(), version=2, reason="", changed_by="x", at=NOW)
