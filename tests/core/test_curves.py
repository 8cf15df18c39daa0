"""Curves, ribbons, what lies inside a circle or outside a label, and where there is room on a drawing."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sessions.sheets.boxes import Box, clear_of, item_points
from sessions.sheets.curves import area_inside, ribbon, ring, runs_inside, scaled, silhouette, smooth
from sessions.sheets.free_spot import FreeRoom
from sessions.sheets.scene import Circle

numbers = st.floats(-100, 100)
points = st.tuples(numbers, numbers)


def area(polygon):
    """Twice signed areas of triangles summed up (the shoelace formula)."""
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairwise([*polygon, polygon[0]]))) / 2


@given(st.lists(points, min_size=3, max_size=12), st.booleans())
def test_a_smooth_curve_runs_through_its_knots(knots, closed):
    curve = smooth(knots, closed=closed)
    for knot in knots:
        assert min(math.dist(knot, point) for point in curve) < 1e-9


def test_a_straight_ribbon_is_as_wide_as_it_says():
    assert area(ribbon([(0, 0), (30, 40)], 4.0)) == pytest.approx(200)
    assert area(ribbon([(0, 0), (30, 40)], 6.0, 2.0)) == pytest.approx(200)


def test_a_ring_is_the_area_between_two_circles():
    assert area(ring((5, -3), 10, 8)) == pytest.approx(math.pi * (100 - 64), rel=0.01)


def test_scaling_moves_the_origin_and_divides_lengths():
    assert scaled([(0, 0), (30, -40)], 0.1, (5, 5)) == ((5, 5), (8, 1))


@given(points, points, points, st.floats(0.5, 80))
def test_runs_inside_a_circle_stay_inside_and_lose_nothing(start, end, centre, radius):
    """Against the line sampled in a thousand places."""
    assume(math.dist(start, end) > 1e-3)
    runs = list(runs_inside([start, end], centre, radius))
    for run in runs:
        assert all(math.dist(point, centre) <= radius + 1e-6 for point in run)
    length = sum(math.dist(a, b) for run in runs for a, b in pairwise(run))
    samples = 1000
    along = (
        (start[0] + (end[0] - start[0]) * k / samples, start[1] + (end[1] - start[1]) * k / samples)
        for k in range(samples)
    )
    share = sum(math.dist(point, centre) <= radius for point in along) / samples
    assert length / math.dist(start, end) == pytest.approx(share, abs=0.003)


def test_what_of_an_area_lies_inside_a_circle():
    square = [(-20, -20), (20, -20), (20, 20), (-20, 20)]
    assert area(area_inside(square, (0, 0), 5)) == pytest.approx(math.pi * 25, rel=0.01)
    assert area(area_inside(square, (20, 20), 5)) == pytest.approx(math.pi * 25 / 4, rel=0.01)
    assert area_inside(square, (60, 0), 5) == ()
    assert set(area_inside(square, (0, 0), 500)) == set(square)


def test_a_silhouette_leaves_out_what_lies_under_another_shape():
    bar, plate = [(-40, -5), (40, -5), (40, 5), (-40, 5)], [(-20, -20), (20, -20), (20, 20), (-20, 20)]
    drawn = [point for run in silhouette([bar, plate]) for point in run]
    assert not [1 for x, y in drawn if abs(x) < 11 and abs(y) < 4]
    assert {(-40, -5), (40, 5), (20, 20), (-20, -20)} <= set(drawn)


def test_a_circle_clear_of_labels_stays_one():
    circle = Circle((0, 0), 10, "frame")
    assert clear_of(circle, [Box(-3, -3, 3, 3), Box(30, 0, 40, 5)]) == [circle]


@given(st.lists(st.builds(lambda x, y: Box(x, y, x + 12, y + 3), numbers, numbers), max_size=6))
def test_a_circle_is_broken_at_labels_and_nowhere_else(labels):
    circle = Circle((0, 0), 60, "frame")
    runs = clear_of(circle, labels)
    for run in runs:
        for x, y in item_points(run):
            assert math.dist((x, y), (0, 0)) == pytest.approx(60)
            assert run is circle or not any(b.left < x < b.right and b.bottom < y < b.top for b in labels)
    drawn = sum(math.dist(a, b) for run in runs for a, b in pairwise(item_points(run)))
    assert drawn > 2 * math.pi * 60 - 1 - len(labels) * 40


boxes = st.builds(
    lambda x, y, w, h: Box(x, y, x + w, y + h),
    st.floats(0, 60), st.floats(0, 40), st.floats(0.5, 30), st.floats(0.5, 20),
)  # fmt: skip


@given(st.lists(boxes, max_size=12), st.sampled_from([-1, 1]))
@settings(max_examples=60)
def test_a_free_spot_covers_nothing_and_none_is_overlooked(obstacles, side):
    """Against every place of a millimetre grid, tried one by one."""
    bounds = Box(0, 0, 60, 40)
    found = FreeRoom(bounds, 80, 50, obstacles, []).spot(15, 12, (30, 20), side)
    if found is not None:
        box = found[1]
        assert not any(box.overlaps(obstacle) for obstacle in obstacles)
        assert max(box.right, bounds.right) - min(box.left, bounds.left) <= 80
        assert max(box.top, bounds.top) - min(box.bottom, bounds.bottom) <= 50
    else:
        tried = (Box(x, y, x + 15, y + 12).grown(1) for x in range(-20, 66) for y in range(39))
        assert not [box for box in tried if not any(box.overlaps(obstacle) for obstacle in obstacles)]


def test_what_is_faint_is_hidden_only_at_a_price():
    bounds = Box(0, 0, 60, 20)
    frame = [(Box(25, 0, 45, 20), 3.0)]
    bare, dear = FreeRoom(bounds, 60, 20, [], []), FreeRoom(bounds, 60, 20, [], frame)
    assert bare.spot(10, 10, (35, 10), 1)[1].overlaps(frame[0][0])
    assert not dear.spot(10, 10, (35, 10), 1)[1].overlaps(frame[0][0])


def test_a_spot_on_the_wrong_side_is_taken_only_where_there_is_no_other():
    bounds = Box(-40, 0, 40, 20)
    assert FreeRoom(bounds, 80, 20, [], []).spot(10, 10, (-5, 10), 1)[1].left >= -6
    full = [Box(-5, 0, 40, 20)]
    assert FreeRoom(bounds, 80, 20, full, []).spot(10, 10, (5, 10), 1)[1].right <= -5


def test_a_taken_spot_is_taken():
    room = FreeRoom(Box(0, 0, 60, 20), 60, 20, [], [])
    _, first = room.spot(20, 20, (30, 10), 1)
    _, second = room.with_taken(first).spot(20, 20, (30, 10), 1)
    assert not first.overlaps(second)
    assert room.spot(20, 20, (30, 10), 1)[1] == first
    assert room.spot(70, 5, (30, 10), 1) is None
