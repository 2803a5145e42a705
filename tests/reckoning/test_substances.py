"""Molar masses against an independent library; amounts against worked examples (WX, page read) and labels."""

from decimal import Decimal

import pytest
from molmass import Formula

from compounding.reckoning.quantities import of, round_half_up
from compounding.reckoning.refusals import OutOfRange, WrongKind
from compounding.reckoning.strengths import volume_of
from compounding.reckoning.substances import (
    SUBSTANCES,
    Substance,
    equivalent_strength,
    mass_of,
    milliequivalents,
    millimoles,
    milliosmoles,
    substance,
)

D = Decimal


@pytest.mark.parametrize("one", SUBSTANCES.values(), ids=SUBSTANCES)
def test_molar_masses_are_those_of_an_independent_library(one: Substance) -> None:
    assert abs(one.molar_mass.magnitude - D(str(Formula(one.formula).mass))) <= D("0.02")


def test_charges_balance() -> None:
    for one in SUBSTANCES.values():
        if len(one.ions) == 2:
            plus, minus = one.ions
            assert plus.valence * plus.count == minus.valence * minus.count


@pytest.mark.parametrize(
    ("name", "ion", "mass", "mEq", "step"),
    [
        ("magnesium sulfate heptahydrate", "magnesium", "500", "4.06", "0.01"),  # WX175, label of 50 %
        ("magnesium sulfate heptahydrate", "magnesium", "20000", "162.3", "0.1"),  # WX178
        ("calcium chloride dihydrate", "calcium", "100", "1.4", "0.1"),  # WX167
        ("sodium bicarbonate", "bicarbonate", "4200", "50", "1"),  # WX181: 50 mL of 8.4 %
        ("sodium bicarbonate", "bicarbonate", "75", "0.892", "0.002"),  # WX180: 44.6 mEq in 50 mL of 7.5 %
        ("sodium chloride", "sodium", "146", "2.5", "0.1"),  # WX183: 14.6 %
        ("sodium chloride", "sodium", "2000", "34", "1"),  # WX186: a litre of 0.2 %
        ("potassium chloride", "potassium", "149", "2", "0.01"),  # concentrate, 149 mg/mL (label)
    ],
)
def test_milliequivalents_of_a_mass(name: str, ion: str, mass: str, mEq: str, step: str) -> None:
    found = milliequivalents(of(mass, "mg"), substance(name), ion).amount
    assert abs(found.magnitude - D(mEq)) <= D(step) / 2


def test_millimoles_and_back() -> None:
    magnesium = substance("magnesium sulfate heptahydrate")
    assert round_half_up(millimoles(of(500, "mg"), magnesium).amount.magnitude, D("0.01")) == D(
        "2.03"
    )  # WX176
    potassium = substance("potassium chloride")
    assert round_half_up(mass_of(of(10, "mmol"), potassium).amount.magnitude / 1000, D("0.01")) == D(
        "0.75"
    )  # WX154
    assert mass_of(of(20, "mEq"), potassium, "potassium").amount == of(1491, "mg")
    calcium = substance("calcium chloride dihydrate")
    # WX143 uses 147 for 147.01: 73,500 mg for 1,000 mEq
    assert abs(mass_of(of(1000, "mEq"), calcium, "calcium").amount.magnitude - 73500) <= 5


def test_three_equivalents_of_sodium_chloride_per_ml_are_17_53_percent() -> None:
    mass = mass_of(of(3, "mEq"), substance("sodium chloride"), "sodium").amount  # WX139
    assert round_half_up(mass.magnitude / 10, D("0.01")) == D("17.53")


def test_phosphate_injections_as_their_labels_say() -> None:
    mono, di = substance("monobasic potassium phosphate"), substance("dibasic potassium phosphate")
    phosphate = millimoles(of(224, "mg"), mono).amount + millimoles(of(236, "mg"), di).amount
    assert round_half_up(phosphate.magnitude, D("0.1")) == 3  # WX156
    potassium = (
        milliequivalents(of(224, "mg"), mono, "potassium").amount
        + milliequivalents(of(236, "mg"), di, "potassium").amount
    )
    assert round_half_up(potassium.magnitude, D("0.1")) == D("4.4")  # WX157
    one, two = substance("monobasic sodium phosphate monohydrate"), substance("dibasic sodium phosphate")
    sodium = (
        milliequivalents(of(276, "mg"), one, "sodium").amount
        + milliequivalents(of(142, "mg"), two, "sodium").amount
    )
    assert round_half_up(sodium.magnitude, D("0.1")) == 4  # WX161


def test_ringer_lactate_as_its_label_says() -> None:
    salts = {
        "sodium chloride": 6000, "sodium lactate": 3100,
        "potassium chloride": 300, "calcium chloride dihydrate": 200,
    }  # fmt: skip

    def total(ion: str) -> Decimal:
        return sum(
            (
                milliequivalents(of(mass, "mg"), substance(name), ion).amount.magnitude
                for name, mass in salts.items()
                if any(one.name == ion for one in substance(name).ions)
            ),
            D(0),
        )

    found = {
        ion: round_half_up(total(ion), D(1))
        for ion in ("sodium", "potassium", "calcium", "chloride", "lactate")
    }
    assert found == {
        "sodium": 130,
        "potassium": 4,
        "calcium": 3,
        "chloride": 109,
        "lactate": 28,
    }  # WX190 to WX194


def test_a_dose_in_equivalents_from_a_strength_by_mass() -> None:
    strength = equivalent_strength(of(200, "mg/mL"), substance("potassium chloride"), "potassium")
    volume = volume_of(of(15, "mEq"), strength).amount  # WX142 uses 74.5 for 74.55
    assert round_half_up(volume.magnitude, D("0.01")) == D("5.59")


def test_osmoles_are_millimoles_times_particles() -> None:
    # 0.9 %: 9 g in a litre, 308 mOsmol (label)
    found = milliosmoles(of(9, "g"), substance("sodium chloride")).amount
    assert round_half_up(found.magnitude, D(1)) == 308
    # 5 % dextrose as the monohydrate, 252 mOsmol/L (trap 4)
    assert (
        round_half_up(milliosmoles(of(50, "g"), substance("dextrose monohydrate")).amount.magnitude, D(1))
        == 252
    )


def test_a_hydrate_must_be_named() -> None:
    with pytest.raises(OutOfRange, match="magnesium sulfate heptahydrate"):
        substance("magnesium sulfate")
    with pytest.raises(OutOfRange, match="potassium"):
        milliequivalents(of(1, "mg"), substance("monobasic potassium phosphate"), "phosphate")
    with pytest.raises(WrongKind):
        mass_of(of(5, "mL"), substance("sodium chloride"))
