"""Things are drawn where the placer put them, to the tenth of a unit, whatever the hood."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.template.loader import render_to_string

from checklists.method.pictures import hood_picture
from compounding.reckoning.airflow import Deck, Item, faults, place

THING = re.compile(r'<g class="thing" data-key="([^"]+)">\s*<(circle|rect)[^>]*?body" ([^>]*)/>')
NOTHING = Decimal(0)


def things(vials: int, syringes: int) -> list[Item]:
    return [
        *(
            Item(f"vial {n}", f"vial {n}", "disc", Decimal(4), Decimal(4), (NOTHING, NOTHING))
            for n in range(vials)
        ),
        *(
            Item(f"syringe {n}", f"syringe {n}", "box", Decimal(14), Decimal(4), (Decimal(-7), NOTHING))
            for n in range(syringes)
        ),
        Item("bag", "bag", "box", Decimal(9), Decimal(14), (NOTHING, Decimal(7)), stays=True),
        Item("waste", "waste", "box", Decimal(14), Decimal(14), is_waste=True),
    ]


def middle(shape: str, written: str) -> tuple[Decimal, Decimal]:
    """Return the middle of a drawn thing."""
    facts = {name: Decimal(number) for name, number in re.findall(r'\b(\w+)="([\d.-]+)"', written)}
    if shape == "circle":
        return facts["cx"], facts["cy"]
    return facts["x"] + facts["width"] / 2, facts["y"] + facts["height"] / 2


@pytest.mark.parametrize("flow", ["horizontal", "vertical"])
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    ("width", "depth", "vials", "syringes"), [(120, 60, 2, 1), (180, 75, 6, 3), (180, 75, 12, 2)]
)
def test_things_are_drawn_where_the_placer_put_them(flow, side, width, depth, vials, syringes):
    deck = Deck(Decimal(width), Decimal(depth), flow, side)
    placed = place(things(vials, syringes), deck)[0].placed
    assert faults(placed, deck) == ()
    picture = hood_picture(deck, placed)
    drawn = {
        key: middle(*how)
        for key, *how in THING.findall(render_to_string("pictures/hood.svg", {"hood": picture}))
    }
    per_cm = Decimal(1000) / width
    assert set(drawn) == {one.item.key for one in placed}
    for one in placed:
        wanted = (one.x * per_cm, picture.deck.y + (depth - one.y) * per_cm)
        assert all(
            abs(at - where) <= Decimal("0.2") for at, where in zip(drawn[one.item.key], wanted, strict=True)
        )


@pytest.mark.parametrize(("side", "is_left"), [("left", True), ("right", False)])
def test_the_way_of_the_work_leads_to_the_waste(side, is_left):
    deck = Deck(Decimal(180), Decimal(75), "horizontal", side)
    picture = hood_picture(deck, place(things(2, 1), deck)[0].placed)
    assert picture.is_waste_left is is_left
    assert picture.waste.key == "waste"


@pytest.mark.parametrize(("flow", "kind"), [("horizontal", "air"), ("vertical", "ring-air")])
def test_the_air_is_drawn_as_it_flows(flow, kind):
    deck = Deck(Decimal(120), Decimal(60), flow)
    drawn = render_to_string(
        "pictures/hood.svg", {"hood": hood_picture(deck, place(things(2, 1), deck)[0].placed)}
    )
    assert drawn.count(f'class="{kind}"') >= 10
    assert ('class="grille"' in drawn) is (flow == "vertical")
    assert ('class="wake"' in drawn) is (flow == "horizontal")
    assert drawn.count("15 cm") == 2
