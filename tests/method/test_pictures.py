"""Pictures show what the numbers say: the edge at the mark, things where they stand, amounts on one scale."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest

from checklists.method.agreement import odd_one
from checklists.method.pictures import hood_picture, scale_picture, syringe_picture
from checklists.method.pictures.hood import Area
from checklists.method.pictures.syringe import numbered_every
from compounding.reckoning.airflow import Deck, Item, Placed

#: Local stock, as in the policy's default (common practice, no source).
STOCK = [("1", "0.01"), ("3", "0.1"), ("5", "0.2"), ("10", "0.2"), ("20", "1"), ("30", "1"), ("60", "1")]
ORIGIN = (Decimal(0), Decimal(0))


def _between(one, other, share):
    return one + (other - one) * share


@pytest.mark.parametrize(("size", "mark"), STOCK)
@pytest.mark.parametrize("marks", [0, 1, 7, 17, 30])
def test_the_plungers_edge_stands_at_its_mark_within_half_a_unit(size, mark, marks):
    size, mark = Decimal(size), Decimal(mark)
    target = min(mark * marks, size)
    picture = syringe_picture(size, mark, target)
    true = _between(picture.zero_y, picture.end_y, target / size)
    assert abs(picture.edge_y - true) <= Decimal("0.5")
    assert min(abs(one.y - picture.edge_y) for one in picture.graduations) <= Decimal("0.5")


@pytest.mark.parametrize(("size", "mark"), STOCK)
def test_every_mark_of_the_syringe_is_drawn_once(size, mark):
    picture = syringe_picture(Decimal(size), Decimal(mark), Decimal(0))
    assert len({one.y for one in picture.graduations}) == Decimal(size) / Decimal(mark) + 1
    assert picture.graduations[0].y == picture.zero_y
    assert picture.graduations[-1].y == picture.end_y


@pytest.mark.parametrize(
    ("size", "mark", "every"),
    [
        ("1", "0.01", "0.1"),
        ("3", "0.1", "0.5"),
        ("5", "0.2", "1"),
        ("10", "0.2", "1"),
        ("20", "1", "5"),
        ("30", "1", "5"),
        ("60", "1", "10"),
    ],
)
def test_numbers_stand_where_makers_print_them(size, mark, every):
    """Common practice, no source."""
    assert numbered_every(Decimal(size), Decimal(mark)) == Decimal(every)


def test_numbers_are_written_without_a_trailing_zero_and_with_a_leading_one():
    """ISMP list of error-prone abbreviations (page)."""
    picture = syringe_picture(Decimal("1.00"), Decimal("0.01"), Decimal("0.50"))
    labels = [one.label for one in picture.graduations if one.label]
    assert labels == ["0.1", "0.2", "0.3", "0.4", "0.5", "0.6", "0.7", "0.8", "0.9", "1"]
    assert picture.target == "0.5"


def test_half_a_mark_stands_half_way_between_two_marks():
    picture = syringe_picture(Decimal(30), Decimal(1), Decimal("21.5"))
    before, after = picture.graduations[21], picture.graduations[22]
    assert abs(picture.edge_y - (before.y + after.y) / 2) <= Decimal("0.01")


@pytest.mark.parametrize(
    ("size", "mark", "target"), [("1", "0.01", "0.63"), ("60", "1", "44.5"), ("1", "0.01", "1")]
)
def test_close_marks_are_enlarged_around_the_target(size, mark, target):
    picture = syringe_picture(Decimal(size), Decimal(mark), Decimal(target))
    assert picture.close_up is not None
    near = picture.close_up.graduations
    assert len(near) >= 4
    assert all(picture.close_up.top <= one.y <= picture.close_up.bottom for one in near)
    pitch = near[1].y - near[0].y
    assert abs(min(abs(one.y - picture.close_up.centre_y) for one in near) % pitch) in {0, pitch / 2}


def test_wide_marks_need_no_enlargement():
    assert syringe_picture(Decimal(30), Decimal(1), Decimal(22)).close_up is None


def test_amounts_within_half_a_mark_agree_at_the_limit_too():
    picture = scale_picture(Decimal(22), Decimal(22), Decimal("21.5"), Decimal("0.5"))
    assert picture.agrees
    assert not any(one.is_odd for one in picture.pointers)


def test_amounts_inside_the_band_but_a_whole_mark_apart_differ():
    picture = scale_picture(Decimal(22), Decimal("21.5"), Decimal("22.5"), Decimal("0.5"))
    inside = [picture.band_x <= one.x <= picture.band_x + picture.band_width for one in picture.pointers]
    assert all(inside)
    assert not picture.agrees


def test_a_tenfold_slip_is_ringed_and_still_on_the_scale():
    """The published failure: 0.068 mL read as 0.68 mL (page, by way of 1-job)."""
    picture = scale_picture(Decimal("0.68"), Decimal("0.68"), Decimal("0.068"), Decimal("0.005"))
    odd = [one.name for one in picture.pointers if one.is_odd]
    assert odd == ["seen"]
    assert all(picture.left <= one.x <= picture.right for one in picture.pointers)
    assert all(not tick.label.startswith("-") for tick in picture.ticks)


def test_no_single_amount_is_odd_when_all_three_differ_evenly():
    assert odd_one({"required": Decimal(2), "drawn": Decimal(1), "seen": Decimal(3)}, Decimal("0.5")) == ""


def _placed(key, x, y, width=4, depth=4, shape="disc", **facts):
    return Placed(Item(key, key, shape, Decimal(width), Decimal(depth), **facts), Decimal(x), Decimal(y))


def test_the_back_of_the_deck_is_at_the_top_and_sizes_keep_their_ratio():
    deck = Deck(Decimal(120), Decimal(60), "horizontal")
    picture = hood_picture(
        deck, (_placed("vial 1", 30, 40, site=ORIGIN), _placed("vial 2", 30, 20, site=ORIGIN))
    )
    back, front = picture.items
    assert back.area.y < front.area.y
    assert picture.deck.width / picture.deck.height == deck.width / deck.depth
    assert abs(back.site_x - back.area.centre_x) <= Decimal("0.1")
    assert abs(back.area.width - picture.deck.width * 4 / 120) <= Decimal("0.1")


def test_the_room_keeps_the_margins_of_the_policy():
    picture = hood_picture(Deck(Decimal(120), Decimal(60), "horizontal"), ())
    assert picture.edge == "15"
    assert picture.room.width / picture.deck.width == Decimal(90) / 120
    assert picture.deck.holds(picture.room)


def test_wakes_run_three_widths_downstream_and_none_in_vertical_flow():
    """Three diameters: the airflow rule this project draws (airflow.Margins)."""
    vial = _placed("vial 1", 60, 50, site=ORIGIN)
    horizontal = hood_picture(Deck(Decimal(120), Decimal(60), "horizontal"), (vial,)).items[0]
    vertical = hood_picture(Deck(Decimal(120), Decimal(60), "vertical"), (vial,)).items[0]
    assert abs(horizontal.wake.height - 3 * horizontal.area.height) <= Decimal("0.5")
    assert horizontal.wake.y == horizontal.area.bottom
    assert vertical.wake is None


def test_crowded_things_are_numbered_from_one_and_no_two_numbers_meet():
    deck = Deck(Decimal(150), Decimal(60), "horizontal")
    placed = tuple(_placed(f"ampoule {n}", 20 + 3 * n, 40, width=2, depth=2, site=ORIGIN) for n in range(8))
    picture = hood_picture(deck, placed)
    assert picture.has_numbers
    assert sorted(item.written for item in picture.items) == [str(n) for n in range(1, 9)]
    places = sorted(item.text_x for item in picture.items)
    assert all(after - before >= 40 for before, after in pairwise(places))


def test_a_lone_thing_carries_its_label():
    picture = hood_picture(
        Deck(Decimal(120), Decimal(60), "horizontal"), (_placed("vial 1", 60, 30, site=ORIGIN),)
    )
    assert [item.written for item in picture.items] == ["vial 1"]
    assert not picture.has_numbers


def test_areas_that_only_touch_do_not_meet():
    one = Area(Decimal(0), Decimal(0), Decimal(10), Decimal(10))
    assert not one.meets(replace(one, x=Decimal(10)))
    assert one.meets(replace(one, x=Decimal(9)))
