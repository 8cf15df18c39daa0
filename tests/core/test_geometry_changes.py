"""A change is real only beyond measuring error, and nothing measured is dropped from the table."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.geometry.changes import REAL_FACTOR, compare, is_real, left_right
from sessions.geometry.dimensions import Dimension, dimensions
from sessions.geometry.points import PointName
from sessions.geometry.position import Position
from sessions.geometry.recipes import Group
from tests.strategies_geometry import ROAD_BIKE, bikes

P = PointName


def figure(key, value, sigma=1.5):
    """A dimension in the saddle group."""
    return Dimension(key, key.replace("_", " "), value, sigma, "mm", Group.SADDLE)


@pytest.mark.parametrize(
    ("before", "after", "real"),
    [(730.0, 734.0, False), (730.0, 734.2, True), (730.0, 725.0, True), (730.0, 730.0, False)],
)
def test_a_change_of_two_tape_readings_is_real_beyond_4_16_mm(before, after, real):
    """1.96·√(1.5² + 1.5²) = 4.158 mm."""
    (change,) = compare([figure("saddle_height", before)], [figure("saddle_height", after)])
    assert change.delta == pytest.approx(after - before)
    assert change.sigma == pytest.approx(math.sqrt(4.5))
    assert change.real is real


def test_exactly_at_the_limit_is_not_real():
    assert not is_real(REAL_FACTOR * 2.0, 2.0)


def test_what_only_one_side_has_is_kept_in_its_place_without_a_verdict():
    before = [figure("a", 1.0), figure("b", 2.0), figure("c", 3.0)]
    after = [figure("a", 1.0), figure("c", 3.0), figure("d", 4.0)]
    changes = compare(before, after)
    assert [each.key for each in changes] == ["a", "b", "c", "d"]
    assert [each.real for each in changes] == [False, None, False, None]
    assert changes[1].after is None
    assert changes[3].before is None


def test_nothing_against_nothing_is_nothing():
    assert compare([], []) == ()
    assert left_right([]) == ()


@given(bikes(), bikes())
def test_before_and_after_swapped_turn_every_sign_round(one, other):
    first, second = dimensions(Position.from_coordinates(one)), dimensions(Position.from_coordinates(other))
    back = {each.key: each for each in compare(second, first)}
    for change in compare(first, second):
        assert back[change.key].delta == -change.delta
        assert back[change.key].real is change.real


@given(st.floats(-1e3, 1e3), st.floats(0.1, 10), st.floats(0.1, 10))
def test_larger_sigmas_never_make_a_change_real(delta, sigma, more):
    assert not (is_real(delta, sigma + more) and not is_real(delta, sigma))


def test_left_against_right_uses_the_difference_whose_shared_floor_has_cancelled():
    position = Position.from_coordinates(ROAD_BIKE, sigma_mm=1.0, sigmas_mm={P.FLOOR: 30.0})
    rows = {each.key: each for each in left_right(dimensions(position))}
    heights = rows["hood_height"]
    assert (heights.left.value, heights.right.value) == (956.0, 952.0)
    assert heights.difference == pytest.approx(4.0)
    assert heights.sigma == pytest.approx(math.sqrt(2.0))
    assert heights.real


def test_heights_above_the_bottom_bracket_stand_in_where_the_floor_was_not_measured():
    bike = {name: xyz for name, xyz in ROAD_BIKE.items() if name is not P.FLOOR}
    rows = {each.key: each for each in left_right(dimensions(Position.from_coordinates(bike)))}
    assert (rows["hood_height"].left.value, rows["hood_height"].right.value) == (688.0, 684.0)
    assert rows["hood_height"].label == "Hood height"
