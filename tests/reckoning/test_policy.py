"""The defaults of a site. Sources: standards.md sections 2, 5, 6 (practice), 1b (in-use times), else
policy.
"""

from decimal import Decimal

from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import of, write


def test_local_stock_is_the_usual_sizes_and_marks() -> None:
    stock = [(write(one.size), write(one.mark)) for one in Policy().syringes]
    assert stock == [
        ("1 mL", "0.01 mL"), ("3 mL", "0.1 mL"), ("5 mL", "0.2 mL"), ("10 mL", "0.2 mL"),
        ("20 mL", "1 mL"), ("30 mL", "1 mL"), ("60 mL", "1 mL"),
    ]  # fmt: skip


def test_the_defaults_are_those_of_the_design() -> None:
    policy = Policy()
    assert (policy.withdraw_over_percent, policy.rounding_limit_percent) == (Decimal(10), Decimal(2))
    assert (policy.instrument_limit_percent, policy.agreement_percent) == (Decimal(10), Decimal(5))
    assert (policy.least_fill_percent, policy.hazardous_fill_percent, policy.good_fill_percent) == (
        20,
        75,
        80,
    )
    assert (policy.single_dose_hours, policy.multi_dose_days) == (12, 28)
    assert policy.peripheral_limit == of(900, "mOsmol/L")
