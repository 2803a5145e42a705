"""What cannot be made is refused before anything is laid out, in words. Limits: labels and policy."""

from typing import Any

import pytest
from prepared_orders import (
    FLUOROURACIL,
    KETOROLAC,
    MORPHINE,
    POTASSIUM,
    VANCOMYCIN,
    bag,
    in_syringes,
    ingredient,
    order,
    vancomycin,
)

from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import (
    DoesNotFit,
    MissingFact,
    NotConvertible,
    NotMeasurable,
    OutOfRange,
    OverDoseLimit,
    Refusal,
    TooConcentrated,
    UnderDoseLimit,
)


@pytest.mark.parametrize(
    ("asked", "refusal", "says"),
    [
        (order(ingredient(VANCOMYCIN, of(3, "g"), most=of(2, "g")), vehicle=bag(500)), OverDoseLimit, "3 g"),
        (in_syringes(ingredient(KETOROLAC, of(3, "mg"), least=of(9, "mg"))), UnderDoseLimit, "9 mg"),
        (order(ingredient(POTASSIUM, of(20, "mg")), vehicle=bag(500)), NotConvertible, "2 mEq/mL"),
        (order(ingredient(MORPHINE, of("0.5", "mg")), vehicle=bag(50)), NotMeasurable, "take 0.4 mL"),
        (vancomycin("1000", vehicle=bag(100, 8, 120), method="add only"), DoesNotFit, "128 mL"),
        (vancomycin(vehicle=None), MissingFact, "diluent bag"),
        (vancomycin(units=0), OutOfRange, "1 to 500"),
        (vancomycin(units=501), OutOfRange, "1 to 500"),
        (order(vehicle=bag(100)), MissingFact, "no ingredient"),
        (vancomycin("0"), OutOfRange, "above zero"),
        (in_syringes(ingredient(KETOROLAC, of(30, "mg")), final_volume=of(10, "mL")), MissingFact, "9 mL"),
        (in_syringes(ingredient(FLUOROURACIL, of(4, "g"))), DoesNotFit, "60 mL"),
    ],
)  # fmt: skip
def test_refused_in_words(asked: Any, refusal: type[Refusal], says: str) -> None:
    with pytest.raises(refusal) as refused:
        reckon(asked)
    assert says in refused.value.sentence


def test_the_concentration_limit_holds_on_both_volumes() -> None:
    # vancomycin at most 5 mg/mL (label): 1,250 mg in 250 + 25 mL is 4.545, in 200 + 25 mL 5.556
    five = ingredient(VANCOMYCIN, of(1250, "mg"), most_concentration=of(5, "mg/mL"))
    assert reckon(order(five, vehicle=bag(250)))
    with pytest.raises(TooConcentrated, match="labelled"):
        reckon(order(five, vehicle=bag(200), method="add only"))
