"""Knee angles against vector geometry, a computer-algebra system and a published survey's legs."""

import math

import numpy as np
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from sessions.geometry.errors import ImpossibleTriangleError, NotANumberError
from sessions.geometry.knee_angle import KneeAngle, KneeState, MixedKneeStatesError, knee_change
from sessions.geometry.leg import (
    PEDALLING_SHARE,
    STATIC_HELD_ANKLE,
    can_bend,
    check_triangle,
    flexion_after_change_deg,
    held_ankle,
    hip_ankle_mm,
    knee_flexion_deg,
)
from sessions.geometry.linkage import Leg, crank_revolution
from tests.strategies_geometry import spread

segments = spread(250, 600)
bends = spread(1, 150)

# Fixed-ankle geometry for the legs of the 2012 US Army survey (NATICK/TR-15/007), computed from the raw data person by person:
# flexion, then mean mm per degree and degrees per mm of men, and the same of women.
SURVEY = [
    (20, 1.25, 0.80, 1.18, 0.85),
    (25, 1.56, 0.64, 1.47, 0.68),
    (30, 1.87, 0.54, 1.76, 0.57),
    (35, 2.17, 0.46, 2.05, 0.49),
    (40, 2.47, 0.41, 2.33, 0.43),
]
MEN, WOMEN = (409.3, 418.8), (379.4, 403.2)


def bent_leg(thigh, shank, flexion_deg):
    """Hip, knee and ankle of a leg laid out by vectors: the shank leaves the thigh's line by the flexion."""
    hip, knee = np.zeros(2), np.array([0.0, -thigh])
    turn = math.radians(flexion_deg)
    return hip, knee, knee + shank * np.array([-math.sin(turn), -math.cos(turn)])


@given(segments, segments, bends)
def test_flexion_is_the_angle_between_the_segments_as_vectors(thigh, shank, flexion):
    hip, knee, ankle = bent_leg(thigh, shank, flexion)
    distance = float(np.hypot(*(ankle - hip)))
    assert hip_ankle_mm(thigh, shank, flexion) == pytest.approx(distance, rel=1e-12)
    along, on = knee - hip, ankle - knee
    angle = math.degrees(math.atan2(abs(along[0] * on[1] - along[1] * on[0]), float(along @ on)))
    assert knee_flexion_deg(thigh, shank, distance) == pytest.approx(angle, abs=1e-6)


@given(segments, segments, bends)
def test_flexion_is_the_law_of_cosines(thigh, shank, flexion):
    d = hip_ankle_mm(thigh, shank, flexion)
    by_cosines = 180.0 - math.degrees(math.acos((thigh**2 + shank**2 - d**2) / (2 * thigh * shank)))
    assert knee_flexion_deg(thigh, shank, d) == pytest.approx(by_cosines, abs=1e-5)


def test_the_derivative_is_what_computer_algebra_says():
    a, b, k = sympy.symbols("a b k", positive=True)
    distance = sympy.sqrt(a**2 + b**2 + 2 * a * b * sympy.cos(k * sympy.pi / 180))
    slope = sympy.lambdify((a, b, k), -sympy.diff(distance, k))
    for thigh, shank in (MEN, WOMEN, (330.0, 500.0)):
        for flexion in (5.0, 30.0, 75.0, 110.0):
            assert held_ankle(thigh, shank, flexion).mm_per_deg == pytest.approx(
                float(slope(thigh, shank, flexion)), rel=1e-12
            )


@pytest.mark.parametrize(("flexion", "men_mm", "men_deg", "women_mm", "women_deg"), SURVEY)
def test_mm_and_degrees_of_the_surveyed_legs(flexion, men_mm, men_deg, women_mm, women_deg):
    """2012 US Army Anthropometric Survey: means over persons; the mean leg agrees within a hundredth."""
    for leg, mm, deg in ((MEN, men_mm, men_deg), (WOMEN, women_mm, women_deg)):
        change = held_ankle(*leg, flexion)
        assert change.mm_per_deg == pytest.approx(mm, abs=0.01)
        assert change.deg_per_mm == pytest.approx(deg, abs=0.011)


def test_a_pedalling_rider_shows_only_a_third_to_two_fifths_of_the_held_ankle_figure():
    """Ferrer-Roca et al. 2014, J Strength Cond Res 28(3):784–791: knee ≈ 7° over 4 % of saddle height, 30 to 38 mm."""
    assert held_ankle(*MEN, 30.0).label == STATIC_HELD_ANKLE
    shown = [7.0 / 38.0, 7.0 / 30.0]
    held = held_ankle(*MEN, 30.0).deg_per_mm
    assert [each / held for each in shown] == pytest.approx(PEDALLING_SHARE, abs=0.012)


@given(segments, segments, spread(20, 100), spread(-5, 5))
def test_a_small_rise_follows_the_derivative(thigh, shank, flexion, rise):
    change = flexion_after_change_deg(thigh, shank, flexion, rise / 100.0) - flexion
    assert change == pytest.approx(-held_ankle(thigh, shank, flexion).deg_per_mm * rise / 100.0, abs=2e-4)


@pytest.mark.parametrize(
    ("thigh", "shank", "distance"),
    [(400, 400, 800.1), (400, 300, 99.9), (0, 400, 300), (400, -1, 300), (400, 400, 0), (400, 400, -300)],
)
def test_impossible_triangles_are_refused(thigh, shank, distance):
    with pytest.raises(ImpossibleTriangleError):
        check_triangle(thigh, shank, distance)
    assert not can_bend(thigh, shank, distance)


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_leg_of_no_number_is_refused(bad):
    for lengths in ((bad, 400, 700), (400, bad, 700), (400, 400, bad)):
        with pytest.raises(NotANumberError):
            knee_flexion_deg(*lengths)
        assert not can_bend(*lengths)


def test_a_straight_leg_is_0_and_a_folded_one_180():
    assert knee_flexion_deg(400.0, 410.0, 810.0) == 0.0
    assert knee_flexion_deg(400.0, 300.0, 100.0) == pytest.approx(180.0)
    assert can_bend(400.0, 410.0, 810.0)


@pytest.mark.parametrize("flexion", [0.0, 180.0, -1.0, 181.0])
def test_where_the_derivative_has_no_value_it_is_refused(flexion):
    with pytest.raises(ImpossibleTriangleError):
        held_ankle(400.0, 410.0, flexion)


@pytest.mark.parametrize("along", [0.0, -0.5, 1.1])
def test_the_saddle_must_move_along_the_leg(along):
    with pytest.raises(ImpossibleTriangleError):
        held_ankle(400.0, 410.0, 30.0, along=along)


def test_a_leg_that_would_not_reach_is_refused():
    with pytest.raises(ImpossibleTriangleError, match="too short"):
        flexion_after_change_deg(400.0, 400.0, 20.0, 40.0)


# The linkage, against a leg laid out point by point with complex numbers.


def linkage_flexion(leg, hip, crank, foot_deg, crank_deg):
    """Knee flexion at one crank angle, from intersecting two circles for the knee."""
    pedal = crank * 1j * complex(math.cos(math.radians(crank_deg)), -math.sin(math.radians(crank_deg)))
    ankle = pedal + complex(-leg.ankle_back_mm, leg.ankle_up_mm) * complex(
        math.cos(math.radians(foot_deg)), math.sin(math.radians(foot_deg))
    )
    line = ankle - complex(*hip)
    d = abs(line)
    along = (leg.thigh_mm**2 - leg.shank_mm**2 + d**2) / (2 * d)
    across = math.sqrt(leg.thigh_mm**2 - along**2)
    knee = complex(*hip) + line / d * complex(along, across)
    thigh, shank = knee - complex(*hip), ankle - knee
    return abs(math.degrees(math.atan2((thigh.conjugate() * shank).imag, (thigh.conjugate() * shank).real)))


@given(
    spread(380, 450),
    spread(380, 450),
    spread(-260, -160),
    spread(600, 650),
    st.sampled_from([165.0, 172.5]),
    spread(-35, 10),
)
def test_a_turn_of_the_crank_is_the_leg_laid_out_point_by_point(thigh, shank, hip_x, hip_y, crank, foot):
    leg = Leg(thigh, shank, 98.0, 137.0)
    turn = crank_revolution(leg, (hip_x, hip_y), crank, foot, steps=24)
    expected = [linkage_flexion(leg, (hip_x, hip_y), crank, foot, angle) for angle in turn.crank_deg]
    assert turn.knee_flexion_deg == pytest.approx(np.array(expected), abs=1e-7)


def test_the_knee_is_straightest_near_the_bottom_and_most_bent_near_the_top():
    """Farrell et al. 2003, The Knee 10:103–109: least flexion ≈ 33° at a crank angle of ≈ 170°, of ten recreational riders."""
    turn = crank_revolution(Leg(*MEN, 98.0, 137.0), (-211.0, 752.0), 172.5, -20.0, steps=360)
    angle, flexion = turn.least
    assert 160 <= angle <= 180
    assert 25 <= flexion <= 40
    assert turn.most[0] > 330 or turn.most[0] < 30
    assert 100 <= turn.most[1] <= 130


def test_the_foot_may_turn_over_the_stroke():
    feet = [-20.0 + 10.0 * math.cos(math.radians(angle)) for angle in range(0, 360, 5)]
    leg = Leg(*MEN, 98.0, 137.0)
    turn = crank_revolution(leg, (-211.0, 740.0), 172.5, feet)
    still = crank_revolution(leg, (-211.0, 740.0), 172.5, feet[18])
    assert turn.knee_flexion_deg[18] == pytest.approx(still.knee_flexion_deg[18])


def test_a_saddle_sunk_on_one_side_and_a_worn_pedal_work_against_each_other():
    """Left hip 6 mm lower on a sunk saddle bends the left knee more; 6 mm less stack on its pedal straightens it again."""
    even = crank_revolution(Leg(*MEN, 98.0, 137.0), (-211.0, 740.0), 172.5, 0.0).least[1]
    sunk = crank_revolution(Leg(*MEN, 98.0, 137.0), (-211.0, 734.0), 172.5, 0.0).least[1]
    both = crank_revolution(Leg(*MEN, 98.0, 137.0).on_stack(-6.0), (-211.0, 734.0), 172.5, 0.0).least[1]
    assert sunk - even == pytest.approx(6.0 * held_ankle(*MEN, even).deg_per_mm, rel=0.15)
    assert both == pytest.approx(even, abs=1e-9)


@pytest.mark.parametrize(
    ("hip", "message"),
    [((-211.0, 900.0), "too short to reach the pedal"), ((0.0, 180.0), "closer than this leg can fold")],
)
def test_a_leg_that_cannot_follow_the_pedal_says_where(hip, message):
    with pytest.raises(ImpossibleTriangleError, match=message):
        crank_revolution(Leg(450.0, 350.0, 98.0, 60.0), hip, 172.5, 0.0)


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_linkage_of_no_number_is_refused(bad):
    with pytest.raises(NotANumberError):
        crank_revolution(Leg(400.0, bad, 98.0, 137.0), (-211.0, 740.0), 172.5, 0.0)
    with pytest.raises(NotANumberError):
        crank_revolution(Leg(400.0, 410.0, 98.0, 137.0), (-211.0, 740.0), 172.5, bad)


def test_static_and_pedalling_are_never_compared():
    still = KneeAngle(30.0, 3.0, KneeState.STATIC, "goniometer")
    with pytest.raises(MixedKneeStatesError):
        knee_change(still, KneeAngle(35.0, 2.0, KneeState.PEDALLING, "inclinometer"))
    change, sigma, real = knee_change(still, KneeAngle(20.0, 3.0, KneeState.STATIC, "goniometer"))
    assert (change, real) == (-10.0, True)
    assert sigma == pytest.approx(math.sqrt(18.0))
