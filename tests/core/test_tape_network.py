"""The observation equations say what an instrument reads, and their derivatives are exact."""

import numpy as np
import pytest
from hypothesis import given

from sessions.geometry.points import PointName
from sessions.tape.common import COMMON, SCALARS
from sessions.tape.network import build_network
from sessions.tape.readings import coordinates
from sessions.tape.taking import take
from tests.strategies_geometry import bikes, faultless, pitches

P = PointName
KEYS = tuple(key for key in COMMON if key not in SCALARS)


@given(bikes(), pitches)
def test_equations_agree_with_plain_trigonometry(bike, pitch_deg):
    readings = faultless(bike, KEYS, pitch_deg)
    network = build_network(readings, pitch_deg=pitch_deg, known=bike)
    values, _, _ = network.predicted(network.start)
    assert values == pytest.approx([reading.value for reading in readings], abs=1e-9)


@given(bikes(), pitches)
def test_derivatives_agree_with_small_steps(bike, pitch_deg):
    readings = [
        *faultless(bike, KEYS, pitch_deg),
        *coordinates(P.BAR_CLAMP, bike[P.BAR_CLAMP]),
        take("cleat_lateral_left", 2.0),
    ]
    network = build_network(readings, pitch_deg=pitch_deg, start=bike)
    _, jacobian, slope = network.predicted(network.start)
    for column in np.flatnonzero(network.free):
        step = np.zeros(network.start.size)
        step[column] = 1e-4
        ahead, behind = network.predicted(network.start + step)[0], network.predicted(network.start - step)[0]
        assert (ahead - behind) / 2e-4 == pytest.approx(jacobian[:, column], abs=1e-6)
    up, down = (
        build_network(readings, pitch_deg=pitch_deg + d, start=bike).predicted(network.start)[0] for d in (1e-4, -1e-4)
    )
    assert (up - down) / 2e-4 == pytest.approx(slope, abs=1e-5)


def test_angles_differ_by_the_short_way_round():
    network = build_network([take("saddle_tilt", 29.0)])
    assert network.misclosure(np.array([-331.5])) == pytest.approx([0.5])


def test_known_points_are_not_adjusted():
    network = build_network([take("saddle_height", 730.0)], known={P.SADDLE_DATUM: (-210.0, 700.0)})
    assert not network.free.any()
