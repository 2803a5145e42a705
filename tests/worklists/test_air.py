"""Air goes into each container, never the whole of it into one (air equal to what is taken: page)."""

from __future__ import annotations

import pytest

from cast import cast, hands, order
from checklists.worklists.bench import step_screen

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("formulation", "dose", "number", "air"),
    [
        ("vancomycin-nacl-250", "1100 mg", 3, "11 mL into each"),  # 22 mL out of two vials
        ("heparin-d5w-250", "25000 units", 1, "5 mL"),
        ("fluorouracil-nacl-500", "800 mg", 1, "12 mL"),  # hazardous: three quarters of 16 mL
        ("norepinephrine-d5w-250", "4 mg", 1, ""),  # an ampoule takes none
    ],
)
def test_air_is_told_for_each_container(formulation: str, dose: str, number: int, air: str) -> None:
    work = hands(cast(), order(formulation, dose))
    while (step := work.step) and step.about.get("draw") != number:
        work.do(step)
    screen = step_screen(work.preparation, work.technician)
    assert screen.kind == "draw"
    assert screen.draw is not None
    assert screen.draw.air == air
