"""The forecast against scipy.stats and against brute force.

Oracles: `scipy.stats.lognorm` and `scipy.stats.norm` (scipy 1.17), numerical integration by `scipy.integrate.quad`, and plain loops
over every combination of faults and minutes.
"""

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from intake.catalogue.schema import BenchMinutes
from intake.triage.forecast import check_distribution, forecast, horizon_cells, total
from intake.triage.lognormal import Z90, discretised, lognormal_parameters, mean_min
from tests.strategies import bench_minutes, parts

# DESIGN's own starting priors for bench minutes, from memory of common practice, no source: median and 90th percentile.
PRIORS = [
    (5, 10),
    (5, 15),
    (10, 20),
    (10, 25),
    (15, 30),
    (15, 35),
    (15, 40),
    (20, 50),
    (20, 60),
    (25, 70),
    (40, 100),
    (45, 120),
]


def scipys(minutes):
    """The same lognormal, made by scipy from its median and 90th percentile alone."""
    sigma = (math.log(minutes.p90_min) - math.log(minutes.median_min)) / stats.norm.ppf(0.9)
    return stats.lognorm(s=sigma, scale=minutes.median_min)


@pytest.mark.parametrize(("median_min", "p90_min"), PRIORS)
def test_a_lognormal_has_the_median_and_the_percentile_it_was_given(median_min, p90_min):
    """By scipy's quantiles of our parameters."""
    mu, sigma = lognormal_parameters(BenchMinutes(median_min, p90_min))
    ours = stats.lognorm(s=sigma, scale=math.exp(mu))
    assert ours.ppf([0.5, 0.9]) == pytest.approx([median_min, p90_min], rel=1e-12)
    assert mean_min(BenchMinutes(median_min, p90_min)) == pytest.approx(ours.mean(), rel=1e-12)


def test_the_normals_ninetieth_percentile():
    """Python's own against scipy's."""
    assert pytest.approx(stats.norm.ppf(0.9), abs=1e-12) == Z90


@given(bench_minutes().filter(lambda minutes: minutes.p90_min > 1.001 * minutes.median_min), st.integers(2, 300))
def test_each_cell_is_the_lognormals_own_probability(minutes, cells):
    """Cell n holds P(n − ½ < M ≤ n + ½), cell 0 what is at most ½, the last cell the rest."""
    oracle = scipys(minutes)
    edges_min = np.arange(cells - 1) + 0.5
    expected = np.diff(oracle.cdf(edges_min), prepend=0.0, append=1.0)
    np.testing.assert_allclose(discretised(minutes, cells), expected, atol=1e-12)
    assert discretised(minutes, cells)[-1] == pytest.approx(oracle.sf(cells - 1.5), abs=1e-12)


def brute_force(checks, cells):
    """Loop over every combination of faults, and within it over every combination of minutes."""
    summed = np.zeros(cells)
    for faults in product(*([(max(0.0, 1 - sum(p for p, _ in check)), None), *check] for check in checks)):
        share = math.prod(p for p, _ in faults)
        pmfs = [discretised(minutes, cells) for _, minutes in faults if minutes]
        for chosen in product(range(cells), repeat=len(pmfs)):
            chance = math.prod(pmf[n] for pmf, n in zip(pmfs, chosen, strict=True))
            summed[min(sum(chosen), cells - 1)] += share * chance
    return summed


@settings(max_examples=25)
@given(st.lists(parts(), max_size=3), st.integers(5, 12))
def test_convolution_against_every_combination_of_faults_and_minutes(checks, cells):
    """On a short grid, where the tail is heavy, cell by cell."""
    ours = [check_distribution(check, cells) for check in checks]
    np.testing.assert_allclose(
        total([each for each in ours if each is not None], cells), brute_force(checks, cells), atol=1e-12
    )


@settings(max_examples=25)
@given(st.lists(parts(), max_size=4), st.integers(10, 180), st.integers(0, 40))
def test_readiness_and_chance_against_every_combination_of_faults(checks, planned_min, slack_min):
    """Each combination summed on its own by polynomial powers of a long grid, then weighed."""
    ours = forecast(checks, planned_min, slack_min)
    cells = horizon_cells(planned_min, slack_min)
    chance = readiness = 0.0
    for faults in product(*([(max(0.0, 1 - sum(p for p, _ in check)), None), *check] for check in checks)):
        share = math.prod(p for p, _ in faults)
        pmf = np.array([1.0])
        for _, minutes in faults:
            if minutes:
                pmf = np.polymul(pmf[::-1], discretised(minutes, 3 * cells)[::-1])[::-1]
        kept = [min(planned_min, max(0, planned_min + slack_min - n)) for n in range(len(pmf))]
        chance += share * sum(pmf[: slack_min + 1])
        readiness += share * float(np.dot(pmf, kept)) * 100 / planned_min
    assert ours.chance == pytest.approx(chance, abs=1e-9)
    assert ours.readiness_pct == pytest.approx(readiness, abs=1e-6)


@pytest.mark.parametrize("slack_min", [10, 20, 45])
@pytest.mark.parametrize("pair", [((15, 30), (10, 25)), ((40, 100), (5, 10)), ((20, 60), (25, 70))])
def test_the_grid_is_fine_enough_for_the_continuous_truth(pair, slack_min):
    """Two certain faults: P(M₁ + M₂ ≤ slack + ½) by numerical integration, half a minute being the grid's own step."""
    one, other = (BenchMinutes(*minutes) for minutes in pair)
    limit_min = slack_min + 0.5
    first, second = scipys(one), scipys(other)
    truth, _ = integrate.quad(lambda x: first.pdf(x) * second.cdf(limit_min - x), 0, limit_min, limit=200)
    found = forecast([[(1.0, one)], [(1.0, other)]], 120, slack_min)
    assert found.chance == pytest.approx(truth, abs=0.01)


def test_a_forecast_of_a_whole_bike_against_a_million_draws():
    """Twelve faults at once: numpy draws of lognormals, no grid; within four standard errors and the grid's half minute."""
    rng = np.random.default_rng(20260318)
    shares = np.linspace(0.02, 0.3, len(PRIORS))
    checks = [[(share, BenchMinutes(*prior))] for share, prior in zip(shares, PRIORS, strict=True)]
    lost_min = np.zeros(1_000_000)
    for share, (median_min, p90_min) in zip(shares, PRIORS, strict=True):
        there = rng.random(lost_min.size) < share
        sigma = math.log(p90_min / median_min) / stats.norm.ppf(0.9)
        lost_min[there] += rng.lognormal(math.log(median_min), sigma, there.sum())
    found = forecast(checks, 120, 15)
    kept_min = np.clip(135 - lost_min, 0, 120)
    error = 4 * kept_min.std() / 1000 / 1.2
    assert found.readiness_pct == pytest.approx(kept_min.mean() / 1.2, abs=error + 0.05)
    assert found.expected_min == pytest.approx(lost_min.mean(), abs=4 * lost_min.std() / 1000)
    assert (lost_min <= 15).mean() - 0.002 <= found.chance <= (lost_min <= 16).mean() + 0.002
