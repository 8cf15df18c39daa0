"""Least squares against textbook networks and certified regressions.

The networks are collected in F. Krumm, Geodetic Network Adjustment Examples, University of Stuttgart, rev. 3.5 (2020); each test
names the textbook. A network's points borrow names of points on a bike; nothing else of the bike is in it.
"""

import math

import numpy as np
import pytest

from sessions.geometry.measures import propagated_sigma
from sessions.geometry.points import PointName
from sessions.tape.adjust import adjust_linear
from sessions.tape.readings import ReadingKind, between
from sessions.tape.solve import solve

P = PointName
A, B, C, D, Q, R = P.FRONT_AXLE, P.REAR_AXLE, P.STEERER_TOP, P.BAR_CLAMP, P.SADDLE_NOSE, P.SADDLE_DATUM


def distances(rows, sigma):
    """Side distances between named points."""
    return [between(ReadingKind.SIDE_DISTANCE, a, b, value, sigma=sigma) for a, b, value in rows]


def test_three_distances_to_one_point():
    """Strang & Borre 1997, Linear Algebra, Geodesy, and GPS, example 10.1: P = (170.7029, 170.7234), σ₀ ratio 3.30."""
    known = {A: (170.71, 270.71), B: (100.0, 100.0), C: (241.42, 100.0)}
    readings = distances([(A, Q, 100.01), (B, Q, 100.02), (C, Q, 100.03)], 0.01)
    solution = solve(readings, known=known, start={Q: (170.71, 170.71)})
    assert solution.position.at(Q)[:2] == pytest.approx((170.70293, 170.72336), abs=5e-6)
    assert solution.sigma0 == pytest.approx(3.30, abs=0.005)
    assert solution.dof == 1


def test_five_distances_to_one_point():
    """Benning 2011, Statistik in Geodäsie, example 8-8: (2000.0000, 1999.9976), sd 5.04 and 9.96 mm, σ₀ ratio 0.503."""
    known = {A: (3000.0, 2000.0), B: (1000.0, 2000.0), C: (3000.0, 2100.0), D: (1000.0, 2100.0), R: (2000.0, 1000.0)}
    rows = [(A, Q, 1000.0), (B, Q, 1000.0), (C, Q, 1005.0), (D, Q, 1005.0), (R, Q, 1000.0)]
    solution = solve(distances(rows, 0.02), known=known, start={Q: (2000.0, 2000.0)})
    assert solution.position.at(Q)[:2] == pytest.approx((2000.0, 1999.9976), abs=5e-5)
    assert solution.sigma0 == pytest.approx(0.503, abs=5e-4)
    scaled = [1000.0 * solution.sigma0 * sigma for sigma in solution.position.sigma_at(Q)[:2]]
    assert scaled == pytest.approx([5.04, 9.96], abs=0.005)
    assert solution.dof == 3


def test_two_stations_at_large_coordinates():
    """Ghilani 2010, Adjustment Computations, example 14.5, with the observations as given by Krumm."""
    badger, bucky = (2410000.000, 390000.000), (2411820.000, 386881.222)
    rows = [(A, Q, 5870.302), (A, R, 7297.588), (Q, R, 3616.434), (Q, B, 5742.878), (R, B, 5123.760)]
    start = {Q: (2415776.8, 391043.4), R: (2416898.2, 387602.3)}
    solution = solve(distances(rows, 0.02), known={A: badger, B: bucky}, start=start)
    assert solution.position.at(Q)[:2] == pytest.approx((2415776.9044, 391043.2945), rel=0, abs=1e-3)
    assert solution.position.at(R)[:2] == pytest.approx((2416892.6955, 387603.2551), rel=0, abs=1e-3)
    assert solution.dof == 1


def test_levelling():
    """Ghilani 2010, example 12.6: B 448.1087, C 453.4685, D 444.9436, sd 2.30, 2.64, 1.76 mm; σ₀ 0.651."""
    rows = [
        (A, B, 10.509, 0.006),
        (B, C, 5.360, 0.004),
        (C, D, -8.523, 0.005),
        (D, A, -7.348, 0.003),
        (B, D, -3.167, 0.004),
        (A, C, 15.881, 0.012),
    ]
    design, observed, sigma = np.zeros((6, 3)), np.zeros(6), np.array([row[3] for row in rows])
    for i, (start, end, rise, _) in enumerate(rows):
        observed[i] = rise
        for name, sign in ((start, -1.0), (end, 1.0)):
            if name is A:
                observed[i] -= sign * 437.596
            else:
                design[i, (B, C, D).index(name)] = sign
    found = adjust_linear(design, observed, sigma)
    assert found.estimate == pytest.approx([448.1087, 453.4685, 444.9436], abs=5e-5)
    residuals = (design @ found.estimate - observed) / sigma
    sigma0 = math.sqrt(float(residuals @ residuals) / 3)
    assert sigma0 == pytest.approx(0.651, abs=5e-4)
    assert 1000 * sigma0 * np.sqrt(np.diag(found.covariance)) == pytest.approx([2.30, 2.64, 1.76], abs=0.005)


def test_levelling_as_readings_of_rises():
    """The same network through readings: rises between points, whose x nothing needs."""
    rows = [
        (A, B, 10.509, 0.006),
        (B, C, 5.360, 0.004),
        (C, D, -8.523, 0.005),
        (D, A, -7.348, 0.003),
        (B, D, -3.167, 0.004),
    ]
    rows.append((A, C, 15.881, 0.012))
    readings = [between(ReadingKind.RISE, a, b, value, sigma=s) for a, b, value, s in rows]
    readings += [between(ReadingKind.OFFSET, A, name, 0.0) for name in (B, C, D)]
    solution = solve(readings, known={A: (0.0, 437.596)})
    heights = [solution.position.at(name)[1] for name in (B, C, D)]
    assert heights == pytest.approx([448.1087, 453.4685, 444.9436], abs=5e-5)
    assert solution.sigma0 == pytest.approx(0.651, abs=5e-4)


def test_the_thermometer_line_of_the_gum():
    """JCGM 100:2008, H.3: y₁ −0.1712 (0.0029), y₂ 0.00218 (0.00067), r −0.930, s 0.0035, b(30) −0.1494 (0.0041)."""
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
    b = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])
    design = np.column_stack([np.ones(11), t - 20.0])
    line = adjust_linear(design, b, np.ones(11))
    residuals = design @ line.estimate - b
    s = math.sqrt(float(residuals @ residuals) / 9)
    covariance = s**2 * line.covariance
    sigmas = np.sqrt(np.diag(covariance))
    assert line.estimate == pytest.approx([-0.1712, 0.00218], abs=5e-5)
    assert sigmas == pytest.approx([0.0029, 0.00067], abs=5e-5)
    assert covariance[0, 1] / sigmas.prod() == pytest.approx(-0.930, abs=5e-4)
    assert s == pytest.approx(0.0035, abs=5e-5)
    assert line.estimate @ [1.0, 10.0] == pytest.approx(-0.1494, abs=5e-5)
    assert propagated_sigma(np.array([1.0, 10.0]), covariance) == pytest.approx(0.0041, abs=5e-5)


def test_correlated_propagation_of_the_gum():
    """JCGM 100:2008, H.2: R 127.732 (0.071) Ω from V, I and φ that were read together, so that they are correlated."""
    v = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
    i = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) / 1000.0
    phi = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
    covariance = np.cov(np.array([v, i, phi])) / 5
    vm, im, pm = v.mean(), i.mean(), phi.mean()
    resistance = vm / im * math.cos(pm)
    gradient = np.array([math.cos(pm) / im, -vm / im**2 * math.cos(pm), -vm / im * math.sin(pm)])
    reactance = np.array([math.sin(pm) / im, -vm / im**2 * math.sin(pm), vm / im * math.cos(pm)])
    assert resistance == pytest.approx(127.732, abs=5e-4)
    assert propagated_sigma(gradient, covariance) == pytest.approx(0.071, abs=5e-4)
    assert propagated_sigma(reactance, covariance) == pytest.approx(0.295, abs=1e-3)


def test_norris():
    """NIST StRD, Norris: certified slope, intercept and their standard deviations."""
    y = "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3 998.0 888.8"
    y += " 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"
    x = "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1 995.8 887.6"
    x += " 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"
    ys, xs = (np.array([float(each) for each in text.split()]) for text in (y, x))
    design = np.column_stack([np.ones(36), xs])
    line = adjust_linear(design, ys, np.ones(36))
    residuals = design @ line.estimate - ys
    sigmas = math.sqrt(float(residuals @ residuals) / 34) * np.sqrt(np.diag(line.covariance))
    assert line.estimate == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-9)
    assert sigmas == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-9)
