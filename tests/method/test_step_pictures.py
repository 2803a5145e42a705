"""What a step's picture shows is what the worksheet says: levels, amounts, places; nothing at a blind check.

Levels are not to scale (common practice, no source): more liquid stands higher, and that is all they say.
"""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import pairwise

import pytest
from django.template.loader import render_to_string
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from cast import Cast, order
from checklists.method.contents import content, held_at_first
from checklists.method.pictures import picture_of
from checklists.method.pictures.transfers import SourcePicture, places_picture
from checklists.method.pictures.vessels import AMPOULE, BAG, VIAL_DOWN, VIAL_UP, level
from checklists.method.procedure import compose
from compounding.formulary.worksheets import for_order
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import number_in, of
from compounding.reckoning.worksheet import Worksheet

LEVEL = re.compile(r'<g class="level" transform="translate\(0 ([\d.]+)\)">')
ORDERS = {
    "powder into a bag": ("vancomycin-nacl-250", "1100 mg"),
    "diluent withdrawn, ampoules": ("aminophylline-d5w-100", "350 mg"),
    "two additives": ("potassium-magnesium-nacl-1000", "20 mEq|2 g"),
    "hazardous": ("fluorouracil-nacl-500", "800 mg"),
}


@pytest.fixture(params=ORDERS)
def worksheet(request, everybody: Cast) -> Worksheet:
    return for_order(order(*ORDERS[request.param]), timezone.now())


@pytest.mark.parametrize("vessel", [VIAL_UP, VIAL_DOWN, AMPOULE, BAG])
@given(st.lists(st.decimals(0, 100, places=2), min_size=2, max_size=8, unique=True))
def test_more_liquid_stands_higher(vessel, volumes):
    surfaces = [vessel.surface(volume, Decimal(100)) for volume in sorted(volumes)]
    upward = 1 if vessel.brim < vessel.dry else -1
    assert all((before - after) * upward >= 0 for before, after in pairwise(surfaces))
    assert upward * (surfaces[0] - surfaces[-1]) > 0 or max(volumes) - min(volumes) < Decimal("0.1")


@pytest.mark.parametrize("amount", ["1", "7", "19"])
def test_the_surface_is_drawn_where_it_was_found(amount):
    change = level(VIAL_DOWN, Decimal(20), Decimal(20) - Decimal(amount), Decimal(25))
    picture = SourcePicture("vial", ("vial 1",), f"{amount} mL", f"{amount} mL", change)
    drawn = render_to_string("pictures/before_draw.svg", {"picture": picture})
    assert LEVEL.findall(drawn) == [str(change.after)]
    assert f"M-66 {change.before}H66" in drawn
    assert drawn.count(f"{amount} mL of air goes in first") == 1


def test_what_is_drawn_from_a_container_is_gone_and_what_is_added_is_there(worksheet):
    last = worksheet.draws[-1].number
    for container in worksheet.containers:
        taken = [p.volume for d in worksheet.draws for p in d.sources if p.container == container.key]
        given_to = [draw.target for draw in worksheet.draws if draw.destination == container.key]
        left = content(worksheet, container.key, last, last)
        expected = (
            held_at_first(worksheet, container.key) + sum(given_to, of(0, "mL")) - sum(taken, of(0, "mL"))
        )
        assert number_in(left, "mL") == max(number_in(expected, "mL"), 0)


def test_each_draw_and_each_addition_shows_its_own_amounts(worksheet):
    shown = [(step, picture_of(step.kind, step.about, worksheet)) for step in compose(worksheet, Policy())]
    for step, picture in shown:
        if step.kind == "draw":
            draw = worksheet.draw(step.about["draw"])
            assert picture.names[0] == draw.sources[0].container
            assert Decimal(picture.amount.removesuffix(" mL")) == number_in(draw.sources[0].volume, "mL")
            # In a vial held upside down the surface comes nearer to the stopper, which is y = 0.
            moved = picture.level.after - picture.level.before
            assert moved < 0 if picture.kind == "vial" else moved > 0
        if step.kind == "add":
            draw = worksheet.draw(step.about["draw"])
            assert Decimal(picture.amount.removesuffix(" mL")) == number_in(draw.target, "mL")
            assert picture.level.after < picture.level.before
    assert {"draw", "add", "mix", "apply_label"} <= {step.kind for step, picture in shown if picture}


def test_the_finished_bag_ticks_every_drug_and_no_diluent_that_was_thrown_away(worksheet):
    picture = picture_of("apply_label", {"unit": 1}, worksheet)
    drugs = {one.of_what for one in worksheet.transfers if one.purpose in ("drug", "fill")}
    assert {one.what for one in picture.additions} == drugs
    drawn = render_to_string("pictures/label.svg", {"picture": picture})
    assert drawn.count('class="tick"') == len(picture.additions)


def test_no_picture_with_an_amount_where_a_checker_looks(worksheet):
    """Shared design 1: nothing that a checker can see gives the required or the drawn amount."""
    for step in compose(worksheet, Policy()):
        if step.kind in ("first_check", "show", "final_check", "release"):
            assert picture_of(step.kind, step.about, worksheet) is None
    for name in ("beside", "person", "pass"):
        assert not re.search(r"\d m?L", render_to_string(f"pictures/{name}.svg"))


@pytest.mark.parametrize(("now", "count", "numbers"), [(1, 2, "12"), (1, 9, "123456"), (12, 12, "789101112")])
def test_places_are_numbered_and_those_before_are_filled(now, count, numbers):
    places = places_picture(now, count).places
    assert "".join(str(one.number) for one in places) == numbers
    assert [one.number for one in places if one.is_now] == [now]
    assert all(one.is_filled == (one.number < now) for one in places)
    drawn = render_to_string("pictures/capped.svg", {"picture": places_picture(now, count)})
    assert drawn.count('class="place"') == len(places)


def test_hazardous_work_locks_onto_a_device_where_other_work_enters_the_stopper(worksheet):
    drawn = [step for step in compose(worksheet, Policy()) if step.kind == "draw"]
    vials = [
        picture
        for picture in (picture_of(step.kind, step.about, worksheet) for step in drawn)
        if isinstance(picture, SourcePicture) and picture.kind == "vial"
    ]
    for picture in vials:
        text = render_to_string("pictures/before_draw.svg", {"picture": picture})
        assert ("turns until it locks" in text) == worksheet.hazardous
        assert ("45 degrees" in text) != worksheet.hazardous
