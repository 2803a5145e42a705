"""Osmolarity against published answers, most of them printed on labels.

Source of each answer: shared/published/worked_examples.json, by title, page or memory.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from published import examples

from compounding.reckoning.osmolarity import Part, Solute, osmolarity_of, osmoles
from compounding.reckoning.quantities import Quantity, number_in, of, round_half_up
from compounding.reckoning.refusals import MissingFact, OutOfRange, WrongKind
from compounding.reckoning.substances import Substance, substance

EXAMPLES = examples("osmolarity")
DEXTROSE, SALT = substance("dextrose monohydrate"), substance("sodium chloride")
POTASSIUM, BICARBONATE = substance("potassium chloride"), substance("sodium bicarbonate")
MAGNESIUM, CALCIUM = substance("magnesium sulfate heptahydrate"), substance("calcium chloride dihydrate")
# the rounded masses that textbooks reckon with (worked_examples.md, trap 7)
TEXTBOOK_SALT = replace(SALT, molar_mass=of("58.5", "g/mol"))
TEXTBOOK_DEXTROSE = replace(substance("dextrose"), molar_mass=of(180, "g/mol"))
POTASSIUM_ION = Substance("potassium", "K", of(39, "g/mol"), (), 1)
CALCIUM_ION = Substance("calcium", "Ca", of(40, "g/mol"), (), 1)
Dissolved = tuple[Substance, Quantity]
RINGER: tuple[Dissolved, ...] = (
    (SALT, of(6, "g")),
    (substance("sodium lactate"), of("3.1", "g")),
    (POTASSIUM, of("0.3", "g")),
    (CALCIUM, of("0.2", "g")),
)


def per(volume: str, unit: str, *solutes: Dissolved) -> Part:
    return Part("solution", of(volume, unit), tuple(Solute(one, content) for one, content in solutes))


def percent(one: Substance, strength: str) -> Part:
    return per("100", "mL", (one, of(strength, "g")))


def acetate(content: Quantity) -> Part:
    return Part("acetate", of(20, "mL"), (Solute(substance("sodium acetate"), content, "sodium"),))


# example -> (the solution, the unit asked for, the step the source rounds to)
SOLUTIONS: dict[str, tuple[Part, str, str]] = {
    "WX207": (percent(TEXTBOOK_DEXTROSE, "5"), "mOsmol/L", "0.1"),
    "WX208": (per("100", "mL", (POTASSIUM_ION, of(156, "mg"))), "mOsmol/L", "0.000001"),
    "WX209": (per("100", "mL", (CALCIUM_ION, of(10, "mg"))), "mOsmol/L", "0.000001"),
    "WX210": (percent(TEXTBOOK_SALT, "0.9"), "mOsmol/L", "0.1"),
    "WX212": (percent(DEXTROSE, "5"), "mOsmol/L", "1"),
    "WX213": (percent(SALT, "0.9"), "mOsmol/L", "1"),
    "WX215": (percent(SALT, "3"), "mOsmol/L", "1"),
    "WX219": (per("1", "L", (DEXTROSE, of(50, "g")), (SALT, of("3.3", "g"))), "mOsmol/L", "1"),
    "WX223": (per("1", "L", *RINGER), "mOsmol/L", "1"),
    "WX224": (per("1", "L", *RINGER, (DEXTROSE, of(50, "g"))), "mOsmol/L", "1"),
    "WX225": (
        per("1", "L", *RINGER[:2], (POTASSIUM, of("1.79", "g")), RINGER[3], (DEXTROSE, of(50, "g"))),
        "mOsmol/L",
        "1",
    ),
    "WX226": (per("1", "L", (SALT, of("4.5", "g")), (POTASSIUM, of("1.49", "g"))), "mOsmol/L", "1"),
    "WX227": (
        per(
            "1",
            "mL",
            (substance("monobasic potassium phosphate"), of(224, "mg")),
            (substance("dibasic potassium phosphate"), of(236, "mg")),
        ),
        "mOsmol/mL",
        "0.1",
    ),
    "WX228": (
        per(
            "1",
            "mL",
            (substance("monobasic sodium phosphate monohydrate"), of(276, "mg")),
            (substance("dibasic sodium phosphate"), of(142, "mg")),
        ),
        "mOsmol/mL",
        "1",
    ),
    "WX229": (per("1", "mL", (CALCIUM, of(100, "mg"))), "mOsmol/mL", "0.01"),
    "WX230": (percent(MAGNESIUM, "50"), "mOsmol/L", "10"),
    "WX231": (percent(MAGNESIUM, "4"), "mOsmol/L", "1"),
    "WX233": (per("100", "mL", (MAGNESIUM, of(1, "g")), (DEXTROSE, of(5, "g"))), "mOsmol/L", "1"),
    "WX234": (percent(BICARBONATE, "8.4"), "mOsmol/L", "1000"),
    "WX235": (percent(BICARBONATE, "7.5"), "mOsmol/L", "10"),
    "WX236": (percent(SALT, "23.4"), "mOsmol/L", "1000"),
    "WX237": (per("1", "mL", (POTASSIUM, of(1, "mmol"))), "mOsmol/L", "0.000001"),
    "WX239": (acetate(of(40, "mEq")), "mOsmol/mL", "0.000001"),
    "WX240": (per("562.5", "mL", (DEXTROSE, of("141.96", "mOsmol"))), "mOsmol/L", "1"),
}


@pytest.mark.parametrize("name", sorted(SOLUTIONS), ids=lambda name: f"{name}-{EXAMPLES[name]['mark']}")
def test_the_published_osmolarity_is_reached(name: str) -> None:
    part, unit, step = SOLUTIONS[name]
    found = number_in(osmolarity_of((part,)).osmolarity, unit)
    assert round_half_up(found, Decimal(step)) == Decimal(EXAMPLES[name]["expected_value"])


def test_a_source_that_rounds_its_parts_is_reached_by_rounding_them() -> None:
    # WX211: the source adds 4.17 and 4.62, each rounded; exact is 8.782.
    sugar, salt = Solute(TEXTBOOK_DEXTROSE, of(750, "mg")), Solute(TEXTBOOK_SALT, of(135, "mg"))
    rounded = sum(
        round_half_up(part.amount.magnitude, Decimal("0.01")) for part in (osmoles(sugar), osmoles(salt))
    )
    assert rounded == Decimal(EXAMPLES["WX211"]["expected_value"])


def test_a_total_is_reached() -> None:
    # WX241, from memory: 100 mL of 0.9 % sodium chloride holds 30.8 mOsmol.
    total = osmolarity_of((percent(TEXTBOOK_SALT, "0.9"),)).content
    assert round_half_up(number_in(total, "mOsmol"), Decimal("0.1")) == Decimal(
        EXAMPLES["WX241"]["expected_value"]
    )


def test_no_published_example_is_forgotten() -> None:
    assert set(SOLUTIONS) | {"WX211", "WX241"} == set(EXAMPLES)


def test_the_working_is_written() -> None:
    found = osmolarity_of((percent(SALT, "0.9"),))
    assert [line.text for line in found.lines] == [
        "0.9 g ÷ 58.44 mg/mmol = 15.4 mmol",
        "15.4 mmol × 2 particles = 30.8 mOsmol",
        "30.8 mOsmol ÷ 100 mL = 308.01 mOsmol/L",
    ]


def test_a_printed_figure_takes_precedence_and_parts_add_up() -> None:
    # 500 mL at 252 and 500 mL at 308 mOsmol/L mix to 280: arithmetic, no source.
    label = "label of the product"
    sugar = Part("dextrose 5 %", of(500, "mL"), printed=of(252, "mOsmol/L"), source=label)
    salt = Part("sodium chloride 0.9 %", of(500, "mL"), printed=of(308, "mOsmol/L"), source=label)
    found = osmolarity_of((sugar, salt))
    assert found.osmolarity == of(280, "mOsmol/L")
    assert found.volume == of(1000, "mL")
    assert found.lines[0].text == "500 mL × 252 mOsmol/L (label of the product) = 126 mOsmol"
    assert osmolarity_of((sugar, salt), of(2, "L")).osmolarity == of(140, "mOsmol/L")


def test_a_printed_figure_without_its_source_is_refused() -> None:
    with pytest.raises(MissingFact, match="The source of 252 mOsmol/L for dextrose is missing"):
        osmolarity_of((Part("dextrose", of(500, "mL"), printed=of(252, "mOsmol/L")),))


def test_above_the_limit_of_a_peripheral_vein_it_warns() -> None:
    # 900 mOsmol/L: common practice, no source.
    strong = (percent(SALT, "3"),)
    assert osmolarity_of(strong, limit=of(900, "mOsmol/L")).warnings == (
        "1,026.69 mOsmol/L is above 900 mOsmol/L, the limit for a peripheral vein: give it centrally.",
    )
    assert osmolarity_of((percent(SALT, "0.9"),), limit=of(900, "mOsmol/L")).warnings == ()
    assert osmolarity_of((percent(TEXTBOOK_SALT, "2.6325"),), limit=of(900, "mOsmol/L")).warnings == ()


def test_milliequivalents_of_an_ion_count_its_substance() -> None:
    # 8 mEq magnesium of the sulfate are 4 mmol and 8 mOsmol: arithmetic, no source.
    worked = osmoles(Solute(MAGNESIUM, of(8, "mEq"), "magnesium"))
    assert worked.amount == of(8, "mOsmol")
    assert [line.text for line in worked.lines] == [
        "8 mEq magnesium ÷ 2 × 246.47 mg/mmol = 985.88 mg",
        "985.88 mg ÷ 246.47 mg/mmol = 4 mmol",
        "4 mmol × 2 particles = 8 mOsmol",
    ]


def test_milliequivalents_of_an_ion_that_is_not_there_are_refused() -> None:
    with pytest.raises(OutOfRange):
        osmoles(Solute(TEXTBOOK_DEXTROSE, of(5, "mEq"), "sodium"))


def test_units_of_activity_have_no_particles() -> None:
    with pytest.raises(WrongKind):
        osmoles(Solute(SALT, of(5000, "units")))
