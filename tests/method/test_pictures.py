"""Pictures show what the numbers say: things where they stand, amounts on one scale."""

from dataclasses import replace
from decimal import Decimal
from itertools import combinations

from checklists.method.agreement import odd_one
from checklists.method.pictures import hood_picture, scale_picture
from checklists.method.pictures.hood_names import Area
from compounding.reckoning.airflow import Deck, Item, Placed

ORIGIN = (Decimal(0), Decimal(0))


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
    places = [(item.text_x, item.text_y) for item in picture.items]
    assert all(
        abs(one[0] - other[0]) >= 20 or abs(one[1] - other[1]) >= 30 for one, other in combinations(places, 2)
    )


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
