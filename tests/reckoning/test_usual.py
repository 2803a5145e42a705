"""Outside what is usual there is a caution, within the hard limits; and it tells no volume.

The limits are invented; 1,250 mg in 250 mL is worked by hand beside each case (no outside source).
"""

import re
from dataclasses import replace

import pytest
from limited_orders import PAIRS, SALINE, cautions, named, with_limits
from prepared_orders import (
    ACYCLOVIR,
    MAGNESIUM,
    VANCOMYCIN,
    bag,
    ingredient,
    order,
    stricter,
    vancomycin,
)

from compounding.reckoning.quantities import Quantity, of, write
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import (
    DoesNotFit,
    OverDoseLimit,
    TooConcentrated,
    TooDilute,
    UnderDoseLimit,
)
from compounding.reckoning.request import Request
from compounding.reckoning.worksheet import Worksheet


@pytest.mark.parametrize(
    ("limits", "expected"),
    [
        ({"usual_most": of(1250, "mg")}, []),
        (
            {"usual_most": of("1249.9", "mg")},
            [("dose-above-usual-1", "1,250 mg of vancomycin is more than the usual 1,249.9 mg.")],
        ),
        ({"usual_least": of("1.25", "g")}, []),
        (
            {"usual_least": of("1.251", "g")},
            [("dose-below-usual-1", "1,250 mg of vancomycin is less than the usual 1.251 g.")],
        ),
        # 1,250 mg ÷ 275 mL = 4.5454 mg/mL by the label, ÷ 300 mL = 4.1666 mg/mL in truth
        ({"usual_most_concentration": of("4.546", "mg/mL")}, []),
        (
            {"usual_most_concentration": of("4.545", "mg/mL")},
            [
                (
                    "concentration-above-usual-1",
                    "vancomycin on the labelled volume is more concentrated than the usual 4.545 mg/mL.",
                )
            ],
        ),
        ({"usual_least_concentration": of("4.166", "mg/mL")}, []),
        (
            {"usual_least_concentration": of("4.167", "mg/mL")},
            [
                (
                    "concentration-below-usual-1",
                    "vancomycin on the true volume is more dilute than the usual 4.167 mg/mL.",
                )
            ],
        ),
    ],
)
def test_outside_what_is_usual_there_is_a_caution(
    limits: dict[str, Quantity], expected: list[tuple[str, str]]
) -> None:
    assert cautions(with_limits(**limits)) == expected


def test_a_dose_by_weight_is_compared_as_it_is_ordered() -> None:
    def asked(dose: str) -> Request:
        part = ingredient(ACYCLOVIR, of(dose, "mg/kg"), usual_most=of(10, "mg/kg"))
        return order(part, vehicle=bag(250), body_weight=of(60, "kg"))

    assert cautions(asked("10")) == []
    assert cautions(asked("10.1")) == [
        ("dose-above-usual-1", "10.1 mg/kg of acyclovir is more than the usual 10 mg/kg.")
    ]


def test_each_ingredient_has_cautions_of_its_own() -> None:
    limits = {"usual_most": of(1, "g")}
    parts = (ingredient(VANCOMYCIN, of(1100, "mg"), **limits), ingredient(MAGNESIUM, of(2, "g"), **limits))
    found = cautions(order(*parts, vehicle=bag(1000, 50)))
    assert [code for code, _ in found] == ["dose-above-usual-1", "dose-above-usual-2"]


@pytest.mark.parametrize(
    ("inside", "outside", "refusal"),
    [
        ({"most": of(1250, "mg")}, {"most": of("1249.9", "mg")}, OverDoseLimit),
        ({"least": of(1250, "mg")}, {"least": of("1250.1", "mg")}, UnderDoseLimit),
        (
            {"most_concentration": of("4.546", "mg/mL")},
            {"most_concentration": of("4.545", "mg/mL")},
            TooConcentrated,
        ),
        (
            {"least_concentration": of("4.166", "mg/mL")},
            {"least_concentration": of("4.167", "mg/mL")},
            TooDilute,
        ),
    ],
)
def test_a_hard_limit_stops_whatever_is_usual(
    inside: dict[str, Quantity], outside: dict[str, Quantity], refusal: type[Exception]
) -> None:
    usual = {"usual_most": of(1, "g")}
    assert [code for code, _ in cautions(with_limits(**usual, **inside))] == ["dose-above-usual-1"]
    with pytest.raises(refusal):
        reckon(with_limits(**usual, **outside))


def test_a_container_holds_what_it_holds() -> None:
    # 250 + 25 + 25 = 300 mL
    assert reckon(vancomycin(vehicle=bag(250, 25, 300))).proof
    with pytest.raises(DoesNotFit, match="300 mL does not fit the bag, which holds at most 299 mL"):
        reckon(vancomycin(vehicle=bag(250, 25, 299)))


def everything_unusual() -> Worksheet:
    drug = replace(
        ingredient(
            replace(ACYCLOVIR, osmolarity=of(9, "mOsmol/mL")), of(12, "mg/kg"),
            usual_most=of(10, "mg/kg"), usual_most_concentration=of(2, "mg/mL"),
        ),
        substance="norepinephrine",
    )  # fmt: skip
    salt = replace(named(SALINE), osmolarity=of(308, "mOsmol/L"))
    return reckon(
        order(
            drug, vehicle=salt, body_weight=of("61.3", "kg"), weighed_days=90, peripheral=True, pairs=PAIRS,
            policy=stricter(peripheral_limit=of(350, "mOsmol/L")),
        )
    )  # fmt: skip


def test_no_caution_tells_a_volume_or_a_concentration_that_was_found() -> None:
    # 12 mg/kg × 61.3 kg = 735.6 mg ÷ 50 mg/mL = 14.712 mL
    sheet = everything_unusual()
    assert [one.code for one in sheet.cautions] == [
        "dose-above-usual-1", "concentration-above-usual-1", "osmolarity-above-limit", "weight-old", "pair-1",
    ]  # fmt: skip
    told = " ".join(one.text for one in sheet.cautions)
    assert re.findall(r"[\d.,]+ mL", told) == []
    found = sheet.ingredients[0]
    for amount in (found.volume, found.concentration, found.true_concentration, sheet.true_volume):
        assert write(amount, 1).split(" ")[0] not in told
