"""The parts of a drawing: dimension lines, markers, boxes, scales."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.sheets.boxes import Box, around, first_free, text_box
from sessions.sheets.scales import largest_that_fits, reductions
from sessions.sheets.scene import (
    Arc,
    Circle,
    Dimension,
    Line,
    Marker,
    Polyline,
    Scene,
    Text,
    dimension_strokes,
    shifted,
)

numbers = st.floats(-500, 500)
points = st.tuples(numbers, numbers)
ITEMS = (
    Line((0, 0), (3, 4), "frame"),
    Polyline(((0, 0), (1, 1)), "after"),
    Circle((2, 2), 1.0, "frame"),
    Arc((2, 2), 1.0, 0, 90, "datum"),
    Text((1, 2), "742.0", 2.5, "label"),
    Dimension((0, 5), (9, 5), ((0, 0), (9, 1))),
    Marker((4, 4), "cross", 2.0, "datum"),
)


def test_dimension_is_a_line_two_heads_and_two_extensions():
    strokes = list(dimension_strokes(Dimension((0, 10), (50, 10), ((0, 0), (50, 0)))))
    lines = [stroke for stroke in strokes if isinstance(stroke, Line)]
    assert lines[0] == Line((0, 10), (50, 10), "dimension")
    assert [line.role for line in lines[1:]] == ["extension", "extension"]
    heads = [stroke for stroke in strokes if isinstance(stroke, Polyline)]
    assert [head.points[0] for head in heads] == [(0, 10), (50, 10)]
    assert all(0 <= x <= 50 for head in heads for x, _ in head.points)


def test_outward_heads_stand_outside_the_dimension():
    heads = [
        stroke
        for stroke in dimension_strokes(Dimension((0, 10), (3, 10), ((0, 0), (3, 0)), outward=True))
        if isinstance(stroke, Polyline)
    ]
    assert all(x <= 0 for x, _ in heads[0].points)
    assert all(x >= 3 for x, _ in heads[1].points)


def test_dimension_on_its_own_points_has_no_extensions():
    strokes = list(dimension_strokes(Dimension((0, 0), (30, 0), ((0, 0), (30, 0)))))
    assert not [stroke for stroke in strokes if stroke.role == "extension"]


@given(numbers, numbers)
def test_shifting_there_and_back_changes_nothing_that_is_drawn(dx, dy):
    there = Scene(1, 1, "", "", shifted(shifted(ITEMS, dx, dy), -dx, -dy))
    for moved, still in zip(there.strokes(), Scene(1, 1, "", "", ITEMS).strokes(), strict=True):
        assert type(moved) is type(still)
        assert moved.role == still.role
        if isinstance(moved, Line):
            assert math.dist(moved.start, still.start) < 1e-9
            assert math.isclose(math.dist(moved.start, moved.end), math.dist(still.start, still.end), abs_tol=1e-9)


def test_turned_text_takes_a_tall_box():
    flat, tall = (text_box(Text((10, 10), "742.0 (+6.0)", 2.5, "label", turn_deg=turn)) for turn in (0, 90))
    assert (tall.width, tall.height) == pytest.approx((flat.height, flat.width))
    assert tall.left < 10 < tall.right
    assert tall.bottom == 10


@pytest.mark.parametrize(("anchor", "left", "right"), [("start", 0, 1), ("middle", -0.5, 0.5), ("end", -1, 0)])
def test_text_box_follows_its_anchor(anchor, left, right):
    box = text_box(Text((0, 0), "0000", 2.5, "label", anchor))
    assert (box.left / box.width, box.right / box.width) == pytest.approx((left, right))


@given(st.lists(st.builds(lambda x, y: Box(x, y, x + 8, y + 3), numbers, numbers), max_size=12))
def test_a_label_always_finds_a_place_that_covers_no_label(labels):
    chosen = first_free([Box(0, 0, 8, 3), Box(0, 4, 8, 7)], labels, [])
    assert not any(chosen.overlaps(label) for label in labels)
    assert (chosen.width, chosen.height) == pytest.approx((8, 3))


def test_the_place_that_covers_fewest_strokes_is_taken():
    stroke = Box(0, 1, 20, 1.1)
    assert first_free([Box(0, 0, 8, 3), Box(0, 4, 8, 7)], [], [stroke]) == Box(0, 4, 8, 7)


def test_around_nothing_is_an_error():
    with pytest.raises(ValueError, match="empty"):
        around([])


class Drawn:
    """A square drawing of a square metre."""

    def __init__(self, scale):
        self.scale = scale
        self.bounds = Box(0, 0, 1000 / scale, 1000 / scale)


@pytest.mark.parametrize(("room_mm", "scale"), [(500, 2), (499, 5), (100, 10), (50, 20), (19, 100), (0.5, 2000)])
def test_the_largest_standard_scale_that_fits_is_taken(room_mm, scale):
    drawn = largest_that_fits(Drawn, Box(0, 0, 900, 900), room_mm, room_mm)
    assert drawn.scale == scale
    assert scale in {step for step, _ in zip(reductions(), range(20), strict=False)}


def test_what_fits_no_scale_is_not_drawn():
    assert largest_that_fits(Drawn, Box(0, 0, 1e60, 1e60), 100, 100) is None
