"""The drawn syringe is true to scale: every mark once, the plunger's edge at the target, in the SVG too."""

import re
from decimal import Decimal

import pytest
from django.template.loader import render_to_string

from checklists.method.pictures import moving_syringe, syringe_picture
from checklists.method.pictures.syringe import numbered_every

#: Local stock, as in the policy's default (common practice, no source).
STOCK = [("1", "0.01"), ("3", "0.1"), ("5", "0.2"), ("10", "0.2"), ("20", "1"), ("30", "1"), ("60", "1")]
#: A group that moves: its place at zero, its place at full, and where it stands.
MOVES = re.compile(
    r'<g data-plunger data-zero-y="([\d.-]+)" data-end-y="([\d.-]+)" transform="translate\(0 ([\d.-]+)\)">'
)


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
    near = picture.close_up
    places = [near.scale_y + one.y for one in near.graduations]
    assert len(places) >= 4
    assert all(near.top <= place <= near.bottom for place in places)
    pitch = places[1] - places[0]
    assert abs(min(abs(place - near.centre_y) for place in places) % pitch) in {0, pitch / 2}


def test_wide_marks_need_no_enlargement():
    assert syringe_picture(Decimal(30), Decimal(1), Decimal(22)).close_up is None


@pytest.mark.parametrize(("size", "mark"), STOCK)
def test_whatever_moves_with_the_plunger_moves_by_one_rule(size, mark):
    """The rule that a script follows: zero + (end - zero) x volume / size, for each part."""
    target = Decimal(mark) * 7
    still = render_to_string(
        "pictures/syringe.svg", {"picture": syringe_picture(Decimal(size), Decimal(mark), target)}
    )
    parts = MOVES.findall(still)
    assert len(parts) == still.count("data-plunger") >= 2
    for zero, end, now in parts:
        by_rule = _between(Decimal(zero), Decimal(end), target / Decimal(size))
        assert abs(by_rule - Decimal(now)) <= Decimal("0.05")


@pytest.mark.parametrize(("size", "mark"), STOCK)
def test_a_plunger_that_is_to_be_moved_starts_empty_and_knows_its_scale(size, mark):
    drawn = render_to_string(
        "pictures/syringe_moving.svg", {"picture": moving_syringe(Decimal(size), Decimal(mark))}
    )
    assert f'data-syringe data-size="{size}" data-mark="{mark}"' in drawn
    assert "<tspan data-reading>0</tspan> mL" in drawn
    parts = MOVES.findall(drawn)
    assert len(parts) == drawn.count("data-plunger") >= 3
    assert all(now == zero or abs(Decimal(now) - Decimal(zero)) < 1 for zero, _end, now in parts)
    marks = int(Decimal(size) / Decimal(mark)) + 1
    assert len(re.findall(r'class="graduation(?: slight)?"', drawn)) == marks
    assert drawn.count('class="enlarged"') in {0, marks}


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
def test_marks_in_the_svg_are_counted_and_as_long_as_they_should_be(size, mark, every):
    """Long where a number is printed, middling half way between two numbers, else short (common practice)."""
    size, mark, every = Decimal(size), Decimal(mark), Decimal(every)
    picture = syringe_picture(size, mark, size / 2)
    drawn = render_to_string("pictures/syringe.svg", {"picture": picture})
    marks = re.findall(r'class="graduation(?: slight)?" d="M[\d.]+ ([\d.]+)h-(\d+)"', drawn)
    assert len(marks) == size / mark + 1
    long, short = 34, 34 * 2 // 5
    for y, length in marks:
        volume = (
            (Decimal(y) - picture.zero_y) / (picture.end_y - picture.zero_y) * size / mark
        ).to_integral_value()
        share = volume * mark / every
        is_half = (share * 2) % 1 == 0
        wanted = long if share % 1 == 0 else long * 2 // 3 if is_half else short
        assert int(length) == wanted, (volume, length)
    numbers = re.findall(r'<text class="figure" x="[\d.]+" dx="-14"[^>]*>([\d.]+)<', drawn)
    assert [Decimal(one) for one in numbers] == [every * n for n in range(1, int(size / every) + 1)]
