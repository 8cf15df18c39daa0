"""A position keeps its points, their covariance and its shape."""

import json

import numpy as np
import pytest
from hypothesis import given

from sessions.geometry.errors import BadPositionError, BadSigmaError, NotANumberError, UnknownPointError
from sessions.geometry.frame import turned_back
from sessions.geometry.points import MIDDLES, OTHER_SIDE, POINT_LABELS, SIDED, PointName
from sessions.geometry.position import Position
from tests.strategies_geometry import ROAD_BIKE, bikes, pitches

P = PointName


def test_every_point_has_a_name_for_people_and_sides_come_in_pairs():
    assert set(POINT_LABELS) == set(PointName)
    assert len(SIDED) == 8
    assert all(OTHER_SIDE[OTHER_SIDE[name]] is name for name in SIDED)


def test_coordinates_come_back_with_their_sigma():
    position = Position.from_coordinates(
        {P.SADDLE_DATUM: (-190.0, 705.0), P.HOOD_LEFT: (450.0, 600.0, -200.0)}, sigma_mm=2.0
    )
    assert position.at(P.SADDLE_DATUM) == (-190.0, 705.0, 0.0)
    assert position.sigma_at(P.SADDLE_DATUM) == (2.0, 2.0, 0.0)
    assert position.sigma_at(P.HOOD_LEFT) == (2.0, 2.0, 2.0)
    assert position.sigma_at(P.BOTTOM_BRACKET) == (0.0, 0.0, 0.0)


def test_single_points_may_have_their_own_sigma():
    position = Position.from_coordinates({P.SADDLE_NOSE: (-50.0, 700.0)}, sigmas_mm={P.SADDLE_NOSE: 4.0})
    assert position.sigma_at(P.SADDLE_NOSE) == (4.0, 4.0, 0.0)


def test_z_is_known_on_the_centreline_and_on_the_sides_only_where_it_was_given():
    position = Position.from_coordinates({P.SADDLE_NOSE: (0, 1), P.HOOD_LEFT: (1, 1), P.HOOD_RIGHT: (1, 1, 200)})
    assert [position.has_lateral(name) for name in (P.SADDLE_NOSE, P.HOOD_LEFT, P.HOOD_RIGHT, P.DROP_LEFT)] == [
        True,
        False,
        True,
        False,
    ]


def test_the_middle_of_a_complete_pair_is_added_with_the_uncertainty_of_a_mean():
    position = Position.from_coordinates({P.HOOD_LEFT: (450, 600, -200), P.HOOD_RIGHT: (454, 604, 210)}, sigma_mm=2.0)
    assert position.at(P.HOOD_MIDDLE) == (452.0, 602.0, 5.0)
    assert position.sigma_at(P.HOOD_MIDDLE) == pytest.approx((2**0.5, 2**0.5, 2**0.5))
    assert not position.has(P.PAD_MIDDLE)


def test_a_point_that_is_not_there_is_named():
    position = Position.from_coordinates({})
    with pytest.raises(UnknownPointError, match="saddle nose has not been measured"):
        position.at(P.SADDLE_NOSE)


def test_arrays_cannot_be_changed_from_outside():
    position = Position.from_coordinates({P.SADDLE_NOSE: (-50.0, 700.0)})
    with pytest.raises(ValueError, match="read-only"):
        position.xyz_mm[0, 0] = 1.0


@pytest.mark.parametrize(
    ("names", "xyz", "covariance"),
    [
        ((P.FLOOR, P.FLOOR), np.zeros((2, 3)), np.zeros((6, 6))),
        ((P.FLOOR,), np.zeros((2, 3)), np.zeros((6, 6))),
        ((P.FLOOR,), np.zeros((1, 3)), np.zeros((2, 2))),
        ((P.FLOOR,), np.array([[np.nan, 0.0, 0.0]]), np.zeros((3, 3))),
    ],
    ids=["twice", "rows", "covariance", "nan"],
)
def test_what_does_not_fit_together_is_refused(names, xyz, covariance):
    with pytest.raises(BadPositionError):
        Position(names, xyz, covariance)


@pytest.mark.parametrize(
    ("coordinates", "sigma", "error"),
    [
        ({P.SADDLE_NOSE: (1.0,)}, 1.5, BadPositionError),
        ({P.SADDLE_NOSE: (1.0, float("nan"))}, 1.5, NotANumberError),
        ({P.SADDLE_NOSE: (1.0, float("inf"))}, 1.5, NotANumberError),
        ({P.SADDLE_NOSE: (1.0, 2.0)}, 0.0, BadSigmaError),
        ({P.SADDLE_NOSE: (1.0, 2.0)}, float("nan"), BadSigmaError),
    ],
)
def test_bad_coordinates_are_refused_at_their_point(coordinates, sigma, error):
    with pytest.raises(error) as caught:
        Position.from_coordinates(coordinates, sigma_mm=sigma)
    assert caught.value.key == "saddle_nose"


@given(bikes())
def test_storage_brings_back_exactly_what_was_stored(bike):
    position = Position.from_coordinates(bike)
    again = Position.from_plain(json.loads(json.dumps(position.to_plain())))
    assert again.names == position.names
    assert again.lateral == position.lateral
    assert np.array_equal(again.xyz_mm, position.xyz_mm)
    assert np.array_equal(again.covariance_mm2, position.covariance_mm2)


@pytest.mark.parametrize(
    "plain", [{}, {"names": ["elbow"], "xyz_mm": [[0, 0, 0]], "covariance_mm2": [[0]], "lateral": []}, {"names": 3}]
)
def test_what_is_no_stored_position_is_refused(plain):
    with pytest.raises(BadPositionError):
        Position.from_plain(plain)


@given(bikes())
def test_a_mirror_twice_changes_nothing(bike):
    position = Position.from_coordinates(bike)
    twice = position.mirrored().mirrored()
    assert twice.names == position.names
    assert np.array_equal(twice.xyz_mm, position.xyz_mm)
    assert np.array_equal(twice.covariance_mm2, position.covariance_mm2)


@given(bikes(), pitches)
def test_turning_back_by_the_pitch_and_forth_again_changes_nothing(bike, pitch_deg):
    position = Position.from_coordinates(bike)
    again = position.turned_back(pitch_deg).turned_back(-pitch_deg)
    assert again.xyz_mm == pytest.approx(position.xyz_mm, abs=1e-9)
    assert again.covariance_mm2 == pytest.approx(position.covariance_mm2, abs=1e-9)


def test_a_bike_that_stood_nose_up_is_turned_back_level():
    stood = np.array([[100.0 * np.cos(np.radians(3.0)), 100.0 * np.sin(np.radians(3.0)), 7.0]])
    assert turned_back(stood, 3.0) == pytest.approx(np.array([[100.0, 0.0, 7.0]]))


def test_an_uncertain_pitch_moves_points_about_the_bottom_bracket_together():
    position = Position.from_coordinates(ROAD_BIKE).turned_back(0.0, pitch_sigma_deg=0.2)
    plain = Position.from_coordinates(ROAD_BIKE)
    shift = np.radians(0.2) * 746.0
    assert position.sigma_at(P.SADDLE_DATUM)[0] == pytest.approx(np.hypot(plain.sigma_at(P.SADDLE_DATUM)[0], shift))
    start, end = 3 * position.row(P.SADDLE_NOSE), 3 * position.row(P.SADDLE_DATUM)
    assert position.covariance_mm2[start, end] == pytest.approx(np.radians(0.2) ** 2 * 741.0 * 746.0)


def test_middles_are_named_for_hoods_and_pads():
    assert set(MIDDLES) == {P.HOOD_MIDDLE, P.PAD_MIDDLE}
