"""What stands in the hood: each thing by the name its steps call it, and what is made told from what is used.

Common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from checklists.method.arrangement import FINAL, items_of, rounds_of
from checklists.method.pictures import hood_picture
from compounding.reckoning.airflow import Deck
from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.worksheet import ContainerKind, FinalContainer, Worksheet
from tests.method.any_worksheet import asked, filled, into

DECK = Deck(Decimal(180), Decimal(75), "horizontal")


def syringes(units: int = 1, fill: str = "") -> Worksheet:
    more = filled(of(fill, "mL"), "fill to volume") if fill else {}
    drug = asked(ContainerKind.SOLUTION_VIAL, "drug1", Decimal("0.3"))
    return reckon(into(FinalContainer.SYRINGE, drug, units=units, **more))


@pytest.mark.parametrize(
    ("worksheet", "names"),
    [
        (syringes(), ["final syringe"]),
        (syringes(2), ["final syringe 1", "final syringe 2"]),
        (syringes(fill="20"), ["syringe 1", "syringe 2", "final syringe"]),
        (
            syringes(2, "20"),
            [
                "syringe 1, drug1", "syringe 2, drug1",
                "syringe 1, sodium chloride 0.9%", "syringe 2, sodium chloride 0.9%",
                "final syringe 1", "final syringe 2",
            ],
        ),
    ],
)  # fmt: skip
def test_each_syringe_stands_there_by_its_own_name(worksheet: Worksheet, names: list[str]) -> None:
    assert [one.label for one in items_of(worksheet) if "syringe" in one.label] == names
    assert len({one.key for one in items_of(worksheet)}) == len(items_of(worksheet))


def test_the_picture_tells_what_is_made_from_what_is_emptied() -> None:
    pooled = hood_picture(DECK, rounds_of(syringes(fill="20"), DECK)[0].placed)
    assert [one.label for one in pooled.items if one.is_final] == [FINAL]
    bag = reckon(into(FinalContainer.BAG, asked(ContainerKind.SOLUTION_VIAL, "drug1", Decimal("0.3"))))
    assert not hood_picture(DECK, rounds_of(bag, DECK)[0].placed).has_finals
