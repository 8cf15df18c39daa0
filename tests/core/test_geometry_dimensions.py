"""Dimensions are what plain arithmetic says, and their sigmas are exact."""

import math

import numpy as np
import pytest
from hypothesis import given

from sessions.geometry.dimensions import dimensions, evaluate
from sessions.geometry.points import PointName
from sessions.geometry.position import Position
from sessions.geometry.recipes import RECIPES
from tests.strategies_geometry import ROAD_BIKE, bikes, spread

P = PointName
BY_KEY = {recipe.key: recipe for recipe in RECIPES}

# Worked by hand from ROAD_BIKE.
WORKED = {
    "saddle_height": math.sqrt(211.0**2 + 746.0**2),
    "setback_nose": 62.0,
    "setback_datum": 211.0,
    "seat_angle": math.degrees(math.atan(746.0 / 211.0)),
    "saddle_tilt": -math.degrees(math.atan(5.0 / 149.0)),
    "saddle_to_hood_reach": 549.5 + 211.0,
    "nose_to_hood": math.sqrt(611.5**2 + 55.0**2),
    "nose_to_hood_left": math.sqrt(610.0**2 + 53.0**2 + 204.0**2),
    "nose_to_hood_right": math.sqrt(613.0**2 + 57.0**2 + 204.0**2),
    "drop": 60.0,
    "bar_stack": 640.0,
    "bar_reach": 452.0,
    "bar_height": 908.0,
    "hood_height_left": 956.0,
    "hood_height_right": 952.0,
    "hood_stack_left": 688.0,
    "hood_stack_right": 684.0,
    "hood_height_difference": 4.0,
    "hood_reach_left": 548.0,
    "hood_reach_right": 551.0,
    "hood_reach_difference": -3.0,
    "hood_width": 408.0,
    "lever_tip_height_left": 876.0,
    "lever_tip_height_right": 880.0,
    "lever_tip_height_difference": -4.0,
    "lever_tip_reach_difference": 5.0,
    "lever_tip_width": 392.0,
    "lever_toe_left": math.degrees(math.atan(11.0 / 63.0)),
    "lever_toe_right": math.degrees(math.atan(5.0 / 55.0)),
    "pad_stack": 700.5,
    "pad_reach": 301.0,
    "pad_width": 162.0,
    "pad_drop": 45.5,
    "pad_height_left": 968.0,
    "pad_height_difference": -1.0,
    "pad_reach_difference": -2.0,
    "crank_length": 172.5,
    "bb_height": 268.0,
}


def found(position):
    """Dimensions by key."""
    return {each.key: each for each in dimensions(position)}


def test_each_key_comes_once():
    assert len(BY_KEY) == len(RECIPES)


@pytest.mark.parametrize("key", WORKED)
def test_a_dimension_is_what_arithmetic_says(key):
    assert found(Position.from_coordinates(ROAD_BIKE))[key].value == pytest.approx(WORKED[key], abs=1e-9)


def test_a_drop_is_positive_when_the_hood_is_lower_and_setback_when_the_saddle_is_behind():
    position = Position.from_coordinates({P.SADDLE_DATUM: (20.0, 700.0), P.HOOD_MIDDLE: (500.0, 720.0)})
    assert found(position)["drop"].value == -20.0
    assert found(position)["setback_datum"].value == -20.0


def test_tilt_is_positive_nose_up():
    position = Position.from_coordinates({P.SADDLE_NOSE: (-50.0, 710.0), P.SADDLE_DATUM: (-200.0, 700.0)})
    assert found(position)["saddle_tilt"].value == pytest.approx(math.degrees(math.atan2(10, 150)))


def test_tail_to_nose_stands_in_for_tilt_only_without_the_datum():
    whole = {P.SADDLE_NOSE: (-50.0, 710.0), P.SADDLE_TAIL: (-310.0, 712.0)}
    assert "saddle_tilt_whole" in found(Position.from_coordinates(whole))
    assert "saddle_tilt_whole" not in found(Position.from_coordinates({**whole, P.SADDLE_DATUM: (-200.0, 700.0)}))


def test_only_what_the_points_give_is_returned():
    assert set(found(Position.from_coordinates({P.SADDLE_NOSE: (-50.0, 700.0)}))) == {"setback_nose"}
    assert dimensions(Position.from_coordinates({})) == ()


def test_a_width_needs_both_sides_measured_sideways():
    flat = Position.from_coordinates({P.HOOD_LEFT: (450, 600), P.HOOD_RIGHT: (450, 600, 200)})
    assert not {"hood_width", "nose_to_hood_left"} & set(found(flat))
    assert "hood_reach_left" in found(flat)


def test_heights_above_the_floor_share_the_floor_but_their_difference_does_not():
    position = Position.from_coordinates(ROAD_BIKE, sigmas_mm={P.FLOOR: 50.0}, sigma_mm=1.0)
    by_key = found(position)
    assert by_key["hood_height_left"].sigma == pytest.approx(math.hypot(50.0, 1.0))
    assert by_key["hood_height_difference"].sigma == pytest.approx(math.sqrt(2.0))


def test_an_angle_between_two_points_at_one_place_is_not_given():
    position = Position.from_coordinates({P.SADDLE_NOSE: (-50.0, 700.0), P.SADDLE_DATUM: (-50.0, 700.0)})
    assert "saddle_tilt" not in found(position)


@given(bikes())
def test_gradients_agree_with_small_steps(bike):
    position = Position.from_coordinates(bike)
    found = evaluate(position)
    assert len(found.recipes) > 40
    for index in range(position.xyz_mm.size):
        step = np.zeros(position.xyz_mm.size)
        step[index] = 1e-4
        ahead, behind = (
            evaluate(
                Position(position.names, position.xyz_mm + sign * step.reshape(-1, 3), position.covariance_mm2)
            ).values
            for sign in (1, -1)
        )
        assert (ahead - behind) / 2e-4 == pytest.approx(found.gradients[:, index], abs=1e-6)


@given(bikes(), spread(-500, 500), spread(-500, 500), spread(-500, 500))
def test_moving_the_whole_bike_changes_no_dimension(bike, dx, dy, dz):
    position = Position.from_coordinates(bike)
    moved = found(position.moved(dx, dy, dz))
    for key, each in found(position).items():
        assert moved[key].value == pytest.approx(each.value, abs=1e-8)
        assert moved[key].sigma == pytest.approx(each.sigma, rel=1e-9)


@given(bikes())
def test_a_mirror_swaps_left_and_right_and_turns_their_differences_round(bike):
    position = Position.from_coordinates(bike)
    mirrored = found(position.mirrored())
    for key, each in found(position).items():
        swap = {"left": "right", "right": "left"}.get(key.rpartition("_")[2])
        other = f"{key.rpartition('_')[0]}_{swap}" if swap else key
        sign = -1 if key.endswith("_difference") else 1
        assert mirrored[other].value == pytest.approx(sign * each.value, abs=1e-9)
        assert mirrored[other].sigma == pytest.approx(each.sigma, rel=1e-9)


def test_sigmas_are_what_repeated_measuring_would_scatter():
    """100 000 draws of a road bike's coordinates scatter as the exact propagation says, within four standard errors."""
    position = Position.from_coordinates(
        {name: ROAD_BIKE[name] for name in (P.SADDLE_NOSE, P.SADDLE_DATUM, P.HOOD_LEFT, P.HOOD_RIGHT)}
    )
    draws = np.random.default_rng(20).normal(0.0, 1.5, (100_000, 2, 2))
    nose, datum = (np.array(ROAD_BIKE[name][:2]) for name in (P.SADDLE_NOSE, P.SADDLE_DATUM))
    tilt = np.degrees(np.arctan2(*(nose + draws[:, 0] - datum - draws[:, 1]).T[::-1]))
    height = np.hypot(*(datum + draws[:, 1]).T)
    by_key = found(position)
    assert by_key["saddle_tilt"].sigma == pytest.approx(tilt.std(), rel=4 / math.sqrt(2e5))
    assert by_key["saddle_height"].sigma == pytest.approx(height.std(), rel=4 / math.sqrt(2e5))
