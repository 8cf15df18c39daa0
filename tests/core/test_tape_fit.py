"""From whatever has been typed so far to everything that can be said."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sessions.geometry.changes import compare
from sessions.geometry.dimensions import dimensions
from sessions.geometry.errors import BadSigmaError, NotANumberError, OutOfLimitsError
from sessions.geometry.points import PointName
from sessions.geometry.position import Position
from sessions.tape.common import COMMON
from sessions.tape.fit import solve_fit
from sessions.tape.readings import coordinates
from sessions.tape.solve import adjust
from sessions.tape.taking import take
from tests.strategies_geometry import BENCH_KEYS, ROAD_BIKE, bikes, faultless, pitches

P = PointName


def keys_of(fit):
    """The dimensions that a fit gives."""
    return {each.key for each in fit.dimensions}


@pytest.mark.parametrize("key", COMMON)
def test_each_reading_alone_is_already_its_own_dimension(key):
    """A field typed first shows at once, with its instrument's own sigma."""
    spec = COMMON[key]
    value = round(0.6 * spec.limits.low + 0.4 * spec.limits.high, 1)
    fit = solve_fit([take(key, value)])
    found = fit.dimension(key)
    assert found.value == pytest.approx(value, abs=1e-6)
    assert found.sigma == pytest.approx(spec.sigma, rel=1e-6)
    assert (found.unit, found.group) == (spec.unit, spec.group)


@given(bikes(), st.sets(st.sampled_from(BENCH_KEYS)), pitches)
def test_whatever_is_given_from_part_of_the_readings_is_right(bike, keys, pitch_deg):
    """No dimension is ever guessed: each that is given from some faultless readings is the bike's own."""
    fit = solve_fit(faultless(bike, sorted(keys), pitch_deg), pitch_deg)
    true = {each.key: each.value for each in dimensions(Position.from_coordinates(bike))}
    for each in fit.dimensions:
        assert each.value == pytest.approx(true[each.key], abs=1e-3)
    for name in fit.position.names if fit.position else ():
        own = Position.from_coordinates(bike).at(name)
        assert fit.position.at(name)[:2] == pytest.approx(own[:2], abs=1e-3)


@given(st.permutations(faultless(ROAD_BIKE)), st.integers(0, 10))
def test_one_more_reading_never_takes_a_dimension_away_nor_makes_it_less_sure(readings, count):
    fewer, more = ({each.key: each.sigma for each in solve_fit(readings[:n]).dimensions} for n in (count, count + 1))
    assert set(fewer) <= set(more)
    assert all(more[key] <= sigma * (1 + 1e-9) for key, sigma in fewer.items())


def test_the_whole_bench_set_gives_the_whole_table():
    readings = [
        *faultless(ROAD_BIKE),
        take("crank_length", 172.5),
        take("cleat_rotation_left", 3.0),
        take("cleat_rotation_right", 8.0),
    ]
    fit = solve_fit(readings)
    wanted = {
        *(
            "saddle_height",
            "setback_nose",
            "setback_datum",
            "seat_angle",
            "saddle_tilt",
            "saddle_to_hood_reach",
            "nose_to_hood",
            "drop",
        ),
        *(
            "hood_height_left",
            "hood_height_right",
            "hood_height_difference",
            "hood_reach_difference",
            "crank_length",
            "bb_height",
        ),
        *("cleat_rotation_left", "cleat_rotation_right", "cleat_rotation_difference"),
    }
    assert wanted <= keys_of(fit)
    assert fit.missing == ()
    assert fit.warnings == ()
    assert fit.dimension("cleat_rotation_difference").sigma == pytest.approx(3.0 * math.sqrt(2))


def test_nothing_typed_says_nothing():
    fit = solve_fit([])
    assert (fit.position, fit.dimensions, fit.missing, fit.warnings, fit.suspects) == (None, (), (), (), ())


def test_a_redundant_set_is_surer_than_the_tape_alone():
    assert solve_fit(faultless(ROAD_BIKE)).dimension("saddle_height").sigma < 1.5


@pytest.mark.parametrize(
    ("keys", "point", "rest"),
    [
        (("saddle_height",), "saddle datum", "saddle setback to the datum would complete it."),
        (("saddle_height", "setback_datum", "setback_nose"), "saddle nose", "saddle tilt would complete it."),
        (
            ("hood_reach_left", "hood_height_left"),
            "left hood rest",
            "bottom bracket height above the floor would complete it.",
        ),
        (
            ("hood_reach_left",),
            "left hood rest",
            "it needs two more readings, such as hood height above the floor, left and bottom bracket height above the floor.",
        ),
        (
            ("saddle_tilt",),
            "saddle nose",
            "it needs more readings.",
        ),
    ],
)
def test_what_is_missing_is_said(keys, point, rest):
    fit = solve_fit(faultless(ROAD_BIKE, keys))
    assert f"The {point} cannot be placed yet: {rest}" in fit.missing


@given(bikes(), st.sets(st.sampled_from(BENCH_KEYS), min_size=1))
def test_the_reading_said_to_complete_a_point_does_complete_it(bike, keys):
    """With hoods well below the saddle: from its own level a slanting tape tells nothing of heights."""
    lower = {P.HOOD_LEFT: 130.0, P.HOOD_RIGHT: 130.0}
    bike = {name: (x, y - lower.get(name, 0.0), z) for name, (x, y, z) in bike.items()}
    fit = solve_fit(faultless(bike, sorted(keys)))
    for each in fit.unplaced:
        for more in (*((key,) for key in each.completing[:2]), *((each.together,) if each.together else ())):
            readings = faultless(bike, sorted({*keys, *more}))
            # Where two solutions nearly meet, not even a start at the truth tells them apart: no promise is made there.
            assume(adjust(readings, start=bike).position.has(each.point))
            widened = solve_fit(readings)
            assert widened.position is not None, (each, more)
            assert widened.position.has(each.point), (each, more)


def test_the_crank_alone_asks_for_nothing_more():
    assert solve_fit([take("crank_length", 172.5)]).missing == ()


def test_a_blunder_is_named_and_nothing_else_is_spoilt():
    readings = [
        *faultless(ROAD_BIKE),
        *coordinates(P.SADDLE_NOSE, (-62.0, 741.0)),
        *coordinates(P.HOOD_LEFT, (548.0, 688.0)),
    ]
    misread = [take("hood_reach_left", 648.0) if each.key == "hood_reach_left" else each for each in readings]
    fit = solve_fit(misread)
    assert fit.suspects == fit.set_aside == ("hood_reach_left",)
    assert "Hood reach, left is off by about 100 mm against the other readings: take it again first." in fit.warnings[0]
    assert fit.position.at(P.HOOD_LEFT)[0] == pytest.approx(548.0, abs=1e-6)
    assert fit.dimension("hood_reach_left").value == pytest.approx(548.0, abs=1e-6)


def test_readings_that_only_contradict_each_other_are_all_named_and_stand_as_read():
    readings = [take("drop", 90.0) if each.key == "drop" else each for each in faultless(ROAD_BIKE)]
    fit = solve_fit(readings)
    assert {"drop", "saddle_height", "bb_height", "hood_height_left", "hood_height_right"} <= set(fit.suspects)
    assert fit.dimension("saddle_height").value == pytest.approx(math.hypot(211.0, 746.0), abs=2.0)


def test_a_setback_longer_than_the_saddle_height_is_said_and_both_stand_as_read():
    fit = solve_fit([take("saddle_height", 360.0), take("setback_datum", 440.0)])
    assert fit.set_aside == ("saddle_height", "setback_datum")
    assert "contradict each other by about 80 mm" in fit.warnings[0]
    assert (fit.dimension("saddle_height").value, fit.dimension("setback_datum").value) == pytest.approx((360.0, 440.0))
    assert fit.position is None


def test_a_cleat_read_twice_with_a_slip_still_gives_a_figure_and_a_warning():
    fit = solve_fit([take("cleat_lateral_left", 3.0), take("cleat_lateral_left", 33.0)])
    assert "cleat_lateral_left" in fit.suspects
    assert fit.dimension("cleat_lateral_left") is not None


def test_the_assumption_that_hoods_are_centred_is_said():
    fit = solve_fit(faultless(ROAD_BIKE, (*BENCH_KEYS, "hood_width")))
    assert fit.warnings == ("Hoods centred on the bike: assumed to within about 3 mm, since only the width was read.",)


def test_coordinates_alone_give_what_a_position_gives():
    read = [
        each
        for name in (P.SADDLE_NOSE, P.SADDLE_DATUM, P.HOOD_LEFT, P.HOOD_RIGHT)
        for each in coordinates(name, ROAD_BIKE[name])
    ]
    fit = solve_fit(read)
    bike = {name: ROAD_BIKE[name] for name in (P.SADDLE_NOSE, P.SADDLE_DATUM, P.HOOD_LEFT, P.HOOD_RIGHT)}
    expected = dimensions(Position.from_coordinates(bike))
    assert [each.key for each in fit.dimensions] == [each.key for each in expected]
    for ours, theirs in zip(fit.dimensions, expected, strict=True):
        assert (ours.value, ours.sigma) == pytest.approx((theirs.value, theirs.sigma), abs=1e-6)


def test_before_and_after_by_tape():
    before = solve_fit(faultless(ROAD_BIKE))
    raised = {**ROAD_BIKE, P.SADDLE_NOSE: (-65.0, 751.0, 0.0), P.SADDLE_DATUM: (-214.0, 756.0, 0.0)}
    changes = {each.key: each for each in compare(before.dimensions, solve_fit(faultless(raised)).dimensions)}
    assert changes["saddle_height"].delta == pytest.approx(math.hypot(214, 756) - math.hypot(211, 746), abs=1e-6)
    assert changes["saddle_height"].real is True
    assert changes["hood_reach_left"].real is False


@pytest.mark.parametrize(
    ("pitch", "sigma", "error"),
    [
        (45.0, None, OutOfLimitsError),
        (math.nan, None, NotANumberError),
        (1.0, -0.2, BadSigmaError),
        (1.0, math.nan, BadSigmaError),
    ],
)
def test_an_absurd_pitch_is_refused_at_its_field(pitch, sigma, error):
    with pytest.raises(error) as caught:
        solve_fit([], pitch, pitch_sigma_deg=sigma)
    assert caught.value.key == "pitch"


@st.composite
def anything_plausible(draw):
    """Any readings within the limits, however contradictory."""
    keys = draw(st.lists(st.sampled_from(sorted(COMMON)), max_size=14))
    return [take(key, draw(st.floats(COMMON[key].limits.low, COMMON[key].limits.high))) for key in keys]


@given(anything_plausible(), st.floats(-15, 15))
def test_no_plausible_readings_break_the_bench(readings, pitch_deg):
    """However contradictory: an answer of finite figures, every reading's own dimension in it, and a warning where one is set aside."""
    fit = solve_fit(readings, pitch_deg)
    assert all(math.isfinite(each.value) and math.isfinite(each.sigma) and each.sigma > 0 for each in fit.dimensions)
    assert bool(fit.set_aside) <= bool(fit.warnings)
    assert {each.key for each in readings} >= set(fit.suspects)
