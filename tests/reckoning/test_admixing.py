"""What ends up in the container. Outside sources: standards.md section 6; WX283 and trap 10 (page read)."""

import pytest
from prepared_orders import bag

from compounding.reckoning.admixing import check_concentration, concentration, into_bag, to_volume
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import of
from compounding.reckoning.refusals import (
    DoesNotFit,
    NothingToWithdraw,
    OutOfRange,
    TooConcentrated,
    TooDilute,
)

TEN = Policy().withdraw_over_percent


@pytest.mark.parametrize(
    ("method", "additive", "out", "labelled", "true"),
    [
        ("add only", "3.5", 0, "53.5", "58.5"),  # WX283: 50 mL and 3.5 mL are 53.5 mL
        ("withdraw equal", "20", 20, 50, 55),
        ("withdraw additive and overfill", "20", 25, 50, 50),
        ("policy", "5", 0, 55, 60),  # 10 percent is not above 10 percent
        ("policy", "5.01", "5.01", 50, 55),
    ],
)
def test_four_ways(method: str, additive: str, out: str | int, labelled: str | int, true: str | int) -> None:
    mixed = into_bag(of(additive, "mL"), bag(50, 5, 80), method, TEN)
    assert (mixed.withdrawn, mixed.labelled, mixed.true_volume) == (
        of(out, "mL"),
        of(labelled, "mL"),
        of(true, "mL"),
    )
    assert mixed.lines


def test_fill_to_volume() -> None:
    mixed = to_volume(of(20, "mL"), of(100, "mL"), of(150, "mL"))
    assert (mixed.filled, mixed.labelled) == (of(80, "mL"), of(100, "mL"))
    assert [line.text for line in mixed.lines] == ["100 mL − 20 mL = 80 mL"]
    alone = to_volume(of(2, "mL"), None, None)
    assert (alone.filled, alone.labelled, alone.lines) == (of(0, "mL"), of(2, "mL"), ())


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(DoesNotFit, match="80 mL"):
        into_bag(of(30, "mL"), bag(50, 5, 80), "add only", TEN)
    with pytest.raises(DoesNotFit):
        to_volume(of(120, "mL"), of(100, "mL"), None)
    with pytest.raises(DoesNotFit):
        to_volume(of(20, "mL"), of(200, "mL"), of(150, "mL"))
    with pytest.raises(NothingToWithdraw):
        into_bag(of(60, "mL"), bag(50, 5, 200), "withdraw equal", TEN)
    with pytest.raises(OutOfRange, match="empty bag"):
        into_bag(of(10, "mL"), bag(50, 5, 80), "fill to volume", TEN)


def test_concentration_and_its_limits_are_inclusive() -> None:
    five = concentration(of(500, "mg"), of(100, "mL"))
    assert five == of(5, "mg/mL")
    check_concentration("x", five, "labelled", (of(5, "mg/mL"), of(5, "mg/mL")))
    with pytest.raises(TooConcentrated, match="labelled volume"):
        check_concentration("x", five, "labelled", (None, of("4.99", "mg/mL")))
    with pytest.raises(TooDilute, match="true volume"):
        check_concentration("x", five, "true", (of("5.01", "mg/mL"), None))
    # potassium: 40 mEq/L peripheral (common practice)
    with pytest.raises(TooConcentrated):
        check_concentration(
            "x", concentration(of(60, "mEq"), of(1, "L")), "labelled", (None, of(40, "mEq/L"))
        )
