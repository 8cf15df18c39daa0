"""A reading carries a plausible value, its points and its instrument, or says why not."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.geometry.errors import BadSigmaError, MeasureError, NotANumberError, OutOfLimitsError, UnknownKeyError
from sessions.geometry.points import PointName
from sessions.geometry.recipes import RECIPES
from sessions.tape.common import AERO_KEYS, COMMON, SCALARS
from sessions.tape.errors import BadReadingError
from sessions.tape.readings import Instrument, Reading, ReadingKind, between, coordinate_key, coordinates
from sessions.tape.taking import can_take, common_reading, take
from tests.strategies_geometry import BENCH_KEYS, ROAD_BIKE, read_off

P, K = PointName, ReadingKind


def test_the_common_set_holds_what_the_bench_asks_for():
    feet = {f"cleat_{what}_{side}" for what in ("fore_aft", "lateral", "rotation") for side in ("left", "right")}
    assert {*BENCH_KEYS, "crank_length", "hood_width", *feet} <= set(COMMON)
    assert set(SCALARS) == feet
    assert {"pad_height_left", "pad_reach_right", "pad_width"} <= AERO_KEYS


def test_every_reading_is_a_dimension_of_the_same_name_and_unit():
    dimensions = {recipe.key: recipe.unit for recipe in RECIPES}
    for key, spec in COMMON.items():
        assert key in SCALARS or dimensions[key] == spec.unit


@pytest.mark.parametrize("key", [key for key in COMMON if key not in SCALARS])
def test_an_ordinary_bike_lies_well_within_every_limit(key):
    assert can_take(key, read_off(ROAD_BIKE, key))


def test_default_sigmas_are_those_of_the_instruments():
    assert [take("saddle_height", 730).sigma, take("saddle_tilt", -1).sigma, take("cleat_rotation_left", 4).sigma] == [
        1.5,
        0.2,
        3.0,
    ]
    assert take("saddle_tilt", -1.0, instrument=Instrument.INCLINOMETER).sigma == 2.0
    assert take("saddle_height", 730.0, sigma=3.0).sigma == 3.0


@pytest.mark.parametrize(
    ("key", "value", "hint"),
    [
        ("saddle_height", 73.1, "centimetres"),
        ("saddle_height", 7310.0, "digit too many"),
        ("saddle_height", 28.8, "inches"),
        ("crank_length", 17.25, "centimetres"),
        ("crank_length", 1725.0, "digit too many"),
        ("saddle_tilt", 90.0, "digit too many"),
        ("hood_height_left", -950.0, "sign"),
    ],
)
def test_an_absurd_reading_is_refused_with_what_was_meant(key, value, hint):
    with pytest.raises(OutOfLimitsError, match=hint) as caught:
        take(key, value)
    assert caught.value.key == key
    assert not can_take(key, value)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "730", None])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(NotANumberError):
        take("saddle_height", value)


def test_an_unknown_reading_is_refused():
    with pytest.raises(UnknownKeyError):
        common_reading("elbow_height")
    assert not can_take("elbow_height", 1.0)


@pytest.mark.parametrize(
    ("kind", "points", "unit", "instrument"),
    [
        (K.DISTANCE, (P.SADDLE_NOSE,), "mm", Instrument.TAPE),
        (K.DISTANCE, (P.SADDLE_NOSE, P.SADDLE_NOSE), "mm", Instrument.TAPE),
        (K.HEIGHT, (P.SADDLE_NOSE, P.FLOOR), "mm", Instrument.TAPE),
        (K.SCALAR, (P.SADDLE_NOSE,), "mm", Instrument.TAPE),
        (K.TILT, (P.SADDLE_DATUM, P.SADDLE_NOSE), "mm", Instrument.TAPE),
        (K.DISTANCE, (P.SADDLE_DATUM, P.SADDLE_NOSE), "deg", Instrument.LEVEL),
        (K.TILT, (P.SADDLE_DATUM, P.SADDLE_NOSE), "deg", Instrument.TAPE),
        (K.DISTANCE, (P.SADDLE_DATUM, P.SADDLE_NOSE), "mm", Instrument.LEVEL),
    ],
)
def test_kind_points_unit_and_instrument_must_belong_together(kind, points, unit, instrument):
    with pytest.raises(BadReadingError):
        Reading("x", kind, points, 1.0, 1.0, instrument, unit)


@pytest.mark.parametrize(("sigma", "error"), [(0.0, BadSigmaError), (-1.0, BadSigmaError), (1e9, BadReadingError)])
def test_a_reading_needs_a_sensible_sigma(sigma, error):
    with pytest.raises(error):
        take("saddle_height", 730.0, sigma=sigma)


def test_any_two_points_can_be_measured():
    reading = between(K.TILT, P.SADDLE_TAIL, P.SADDLE_NOSE, -2.0)
    assert (reading.unit, reading.instrument, reading.sigma) == ("deg", Instrument.LEVEL, 0.2)


def test_coordinates_leave_out_what_was_not_measured():
    read = coordinates(P.HOOD_LEFT, (450.0, None, -200.0), sigma=2.0)
    assert [(each.key, each.value, each.sigma) for each in read] == [
        ("hood_left_x", 450.0, 2.0),
        ("hood_left_z", -200.0, 2.0),
    ]
    assert coordinate_key(P.HOOD_LEFT, "y") == "hood_left_y"


def test_an_absurd_coordinate_is_refused_at_its_axis():
    with pytest.raises(OutOfLimitsError) as caught:
        coordinates(P.HOOD_LEFT, (450.0, 61_000.0))
    assert caught.value.key == "hood_left_y"


@given(st.sampled_from(sorted(COMMON)), st.floats(allow_nan=True, allow_infinity=True))
def test_taking_and_asking_agree(key, value):
    try:
        taken = take(key, value).value == value
    except MeasureError:
        taken = False
    assert taken is can_take(key, value)
