"""Readings become coordinates: faultless ones exactly, faulty ones as least squares says."""

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares

from sessions.geometry.points import PointName
from sessions.tape.errors import ContradictionError, TooManyReadingsError, UnderDeterminedError
from sessions.tape.readings import Instrument, ReadingKind, between, coordinates
from sessions.tape.solve import adjust, solve
from sessions.tape.taking import take
from tests.strategies_geometry import BENCH_KEYS, ROAD_BIKE, bikes, faultless, pitches

P, K = PointName, ReadingKind
SIDE_POINTS = (P.SADDLE_NOSE, P.SADDLE_DATUM, P.HOOD_LEFT, P.HOOD_RIGHT, P.FLOOR)


@given(bikes(), pitches)
def test_coordinates_to_readings_and_back(bike, pitch_deg):
    """Faultless readings of the bench set place every point where it was and leave no residual, at any pitch."""
    solution = solve(faultless(bike, BENCH_KEYS, pitch_deg), pitch_deg=pitch_deg)
    for name in SIDE_POINTS:
        assert solution.position.at(name)[:2] == pytest.approx(bike[name][:2], abs=1e-5)
    assert max(abs(each.residual) for each in solution.quality) < 1e-6
    assert solution.sigma0 == pytest.approx(0.0, abs=1e-6)
    assert solution.suspects == ()


@given(bikes())
def test_width_places_the_hoods_sideways_and_their_tapes_agree(bike):
    keys = (*BENCH_KEYS, "hood_width", "nose_to_hood_left", "nose_to_hood_right")
    position = solve(faultless(bike, keys)).position
    for name in (P.HOOD_LEFT, P.HOOD_RIGHT):
        assert position.has_lateral(name)
        assert position.at(name) == pytest.approx(bike[name], abs=1e-4)


def test_without_a_width_points_stay_in_the_side_plane():
    position = solve(faultless(ROAD_BIKE)).position
    assert position.at(P.HOOD_LEFT)[2] == 0.0
    assert not position.has_lateral(P.HOOD_LEFT)
    assert position.sigma_at(P.HOOD_LEFT)[2] == 0.0


@given(st.permutations(faultless(ROAD_BIKE)))
def test_the_order_of_readings_does_not_matter(readings):
    first, second = solve(faultless(ROAD_BIKE)), solve(readings)
    for name in SIDE_POINTS:
        assert second.position.at(name) == pytest.approx(first.position.at(name), abs=1e-6)
        assert second.position.sigma_at(name) == pytest.approx(first.position.sigma_at(name), rel=1e-6)


@given(bikes())
def test_a_mirrored_bike_gives_the_mirrored_position(bike):
    swapped = {P.HOOD_LEFT: P.HOOD_RIGHT, P.HOOD_RIGHT: P.HOOD_LEFT}
    mirror = {
        swapped.get(name, name): (x, y, -z)
        for name, (x, y, z) in bike.items()
        if "lever" not in name and "pad" not in name
    }
    here, there = solve(faultless(bike)).position, solve(faultless(mirror)).position
    assert there.at(P.HOOD_LEFT)[:2] == pytest.approx(here.at(P.HOOD_RIGHT)[:2], abs=1e-5)
    assert there.at(P.SADDLE_DATUM)[:2] == pytest.approx(here.at(P.SADDLE_DATUM)[:2], abs=1e-5)


def test_a_repeat_halves_the_variance():
    once = solve([take("saddle_height", 731.0), take("setback_datum", 210.0)])
    four = solve([take("saddle_height", 731.0), take("setback_datum", 210.0)] * 4)
    ratio = np.array(once.position.sigma_at(P.SADDLE_DATUM)[:2]) / four.position.sigma_at(P.SADDLE_DATUM)[:2]
    assert ratio == pytest.approx([2.0, 2.0])


def test_coordinates_and_tape_mix_by_their_weights():
    readings = [*coordinates(P.SADDLE_DATUM, (-300.0, 400.0), sigma=1.5), take("saddle_height", 503.0)]
    solution = solve(readings)
    # Along the line from the bottom bracket both weigh alike, so that the 3 mm are shared.
    assert math.hypot(*solution.position.at(P.SADDLE_DATUM)) == pytest.approx(501.5, abs=1e-4)
    assert solution.dof == 1


def test_a_jig_whose_zero_is_elsewhere_counts_from_its_bottom_bracket():
    read = [*coordinates(P.BOTTOM_BRACKET, (1000.0, 500.0)), *coordinates(P.SADDLE_DATUM, (800.0, 1200.0))]
    position = solve(read).position
    assert position.at(P.SADDLE_DATUM) == pytest.approx((-200.0, 700.0, 0.0))
    assert position.sigma_at(P.SADDLE_DATUM)[:2] == pytest.approx((math.sqrt(4.5), math.sqrt(4.5)))


def test_an_uncertain_pitch_makes_plumb_readings_less_sure_but_not_a_straight_tape():
    readings = faultless(ROAD_BIKE, ("saddle_height", "setback_datum"), 2.0)
    sure, unsure = (solve(readings, pitch_deg=2.0, pitch_sigma_deg=s).position for s in (0.0, 0.5))
    assert unsure.sigma_at(P.SADDLE_DATUM)[0] > 2.0 * sure.sigma_at(P.SADDLE_DATUM)[0]
    along = np.array([*sure.at(P.SADDLE_DATUM)[:2], 0.0]) / math.hypot(*sure.at(P.SADDLE_DATUM))
    spread = [float(along @ each.covariance_of(P.SADDLE_DATUM) @ along) for each in (sure, unsure)]
    assert spread == pytest.approx([2.25, 2.25], rel=1e-6)


@pytest.mark.parametrize("seed", range(40))
def test_scipy_finds_the_same_coordinates_and_covariance(seed):
    """Random networks of side distances, heights and offsets with noise; scipy's least_squares as independent oracle."""
    rng = np.random.default_rng(seed)
    names = (P.SADDLE_NOSE, P.SADDLE_DATUM, P.BAR_CLAMP, P.HOOD_MIDDLE)
    truth = {
        name: rng.normal((x, y), 40.0)
        for name, (x, y) in zip(names, ((-60, 720), (-210, 715), (460, 610), (555, 640)), strict=True)
    }
    known = {
        P.BOTTOM_BRACKET: np.zeros(2),
        P.REAR_AXLE: np.array([-405.0, 70.0]),
        P.FRONT_AXLE: np.array([590.0, 70.0]),
    }
    # The middle of the hoods is a point of its own here: use the steerer top's name instead, which has no sides.
    truth[P.STEERER_TOP] = truth.pop(P.HOOD_MIDDLE)
    everywhere = {**truth, **known}
    pairs = [(a, b) for a, b in combinations(everywhere, 2) if not {a, b} <= set(known)]
    chosen = [pairs[i] for i in rng.permutation(len(pairs))[:14]]
    sigma = rng.uniform(0.5, 3.0, len(chosen))
    exact = np.array([np.hypot(*(everywhere[b] - everywhere[a])) for a, b in chosen])
    read = exact + rng.normal(0.0, sigma)

    def residuals(x):
        at = {**known, **dict(zip(truth, x.reshape(-1, 2), strict=True))}
        return (np.array([np.hypot(*(at[b] - at[a])) for a, b in chosen]) - read) / sigma

    start = np.concatenate(list(truth.values()))
    oracle = least_squares(residuals, start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    normal = oracle.jac.T @ oracle.jac
    if np.linalg.cond(normal) > 1e8:
        pytest.skip("these fourteen distances do not fix all four points")
    readings = [
        between(K.SIDE_DISTANCE, a, b, value, sigma=s) for (a, b), value, s in zip(chosen, read, sigma, strict=True)
    ]
    solution = adjust(
        readings,
        known={name: xy.tolist() for name, xy in known.items()},
        start={n: xy.tolist() for n, xy in truth.items()},
    )
    found = [solution.position.at(name)[:2] for name in truth]
    assert np.ravel(found) == pytest.approx(oracle.x, abs=1e-5)
    sigmas = np.ravel([solution.position.sigma_at(name)[:2] for name in truth])
    assert sigmas == pytest.approx(np.sqrt(np.diag(np.linalg.inv(normal))), rel=1e-4)
    assert solution.dof == len(chosen) - start.size
    assert solution.sigma0 == pytest.approx(math.sqrt(2 * oracle.cost / solution.dof), rel=1e-6)


def test_redundancy_numbers_add_up_to_the_degrees_of_freedom():
    solution = solve(faultless(ROAD_BIKE))
    assert sum(each.redundancy for each in solution.quality) == pytest.approx(solution.dof)
    assert solution.dof == 11 - 9


def test_too_few_readings_name_the_point_and_what_would_complete_it():
    with pytest.raises(UnderDeterminedError) as caught:
        solve([take("saddle_height", 731.0)])
    assert caught.value.point is P.SADDLE_DATUM
    assert caught.value.completing == ("setback_datum",)
    assert "saddle setback to the datum would complete it" in caught.value.sentence


def test_lengths_that_no_bike_can_have_are_a_contradiction_or_leave_the_point_unplaced():
    """A setback longer than the saddle height cannot be."""
    solution = adjust([take("saddle_height", 360.0), take("setback_datum", 440.0)])
    assert set(solution.suspects) == {"saddle_height", "setback_datum"}
    assert not solution.position.has(P.SADDLE_DATUM)
    with pytest.raises((ContradictionError, UnderDeterminedError)):
        solve([take("saddle_height", 360.0), take("setback_datum", 440.0)])


def test_a_file_of_thousands_of_readings_is_refused():
    with pytest.raises(TooManyReadingsError, match="10000 readings"):
        adjust([take("saddle_height", 731.0)] * 10_000)


def test_nothing_read_places_nothing():
    solution = adjust([])
    assert solution.position.names == (P.BOTTOM_BRACKET,)
    assert solution.sigma0 is None
    assert solution.converged


def test_scalars_that_were_read_twice_are_averaged_by_weight():
    readings = [take("cleat_fore_aft_left", 4.0, sigma=1.0), take("cleat_fore_aft_left", 8.0, sigma=1.0)]
    assert adjust(readings).scalars["cleat_fore_aft_left"] == pytest.approx((6.0, math.sqrt(0.5)))


def test_a_near_parallel_pair_of_tapes_does_not_place_a_point():
    """Two straight tapes that meet at a fraction of a degree fix the point along them, not across."""
    anchors = {P.REAR_AXLE: (-404.0, 0.0), P.FRONT_AXLE: (590.0, 0.0)}
    far = (2300.0, 4.0)
    readings = [between(K.SIDE_DISTANCE, name, P.BAR_CLAMP, math.dist(xy, far)) for name, xy in anchors.items()]
    solution = adjust(readings, known=anchors, start={P.BAR_CLAMP: far})
    assert not solution.position.has(P.BAR_CLAMP)


@pytest.mark.parametrize("size", [8.0, 25.0, 100.0])
def test_a_misread_tape_is_named_where_the_others_can_tell(size):
    readings = [
        *faultless(ROAD_BIKE),
        *coordinates(P.SADDLE_NOSE, (-62.0, 741.0)),
        *coordinates(P.HOOD_LEFT, (548.0, 688.0)),
    ]
    misread = [take("hood_reach_left", 548.0 + size) if each.key == "hood_reach_left" else each for each in readings]
    solution = solve(misread)
    assert solution.suspects == ("hood_reach_left",)
    (named,) = (each for each in solution.quality if each.reading.key == "hood_reach_left")
    assert named.blunder == pytest.approx(size, rel=0.05)


def test_an_assumption_is_never_named_as_misread():
    readings = [*faultless(ROAD_BIKE, ("hood_width",)), *(between(K.WIDTH, P.BOTTOM_BRACKET, P.HOOD_LEFT, -150.0),)]
    solution = adjust([*readings, between(K.WIDTH, P.BOTTOM_BRACKET, P.HOOD_RIGHT, 258.0)])
    assert solution.assumed[0].instrument is Instrument.ASSUMED
    assert "hood_centred" not in solution.suspects
