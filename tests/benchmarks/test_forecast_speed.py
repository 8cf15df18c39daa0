"""How fast the exact forecast is beside a simulation of the same thing."""

import math
import sys
from statistics import NormalDist, median
from time import perf_counter

import numpy as np
import pytest

from intake.catalogue.schema import BenchMinutes
from intake.triage.forecast import forecast
from intake.triage.lognormal import discretised

CHECKS = 30
DRAWS = 100_000
RUNS = 9
PLANNED_MIN, SLACK_MIN = 120, 15
ASKED, ASKED_COLD = 50, 25


def uncertain_checks():
    """Thirty checks that may each cost minutes, all different."""
    rng = np.random.default_rng(7)
    shares = rng.uniform(0.03, 0.3, CHECKS)
    medians_min = rng.uniform(5, 45, CHECKS)
    p90s_min = medians_min * rng.uniform(1.8, 3, CHECKS)
    return shares, medians_min, p90s_min


def simulated(shares, medians_min, p90s_min):
    """Readiness and chance from draws of all checks at once."""
    rng = np.random.default_rng(11)
    sigmas = np.log(p90s_min / medians_min) / NormalDist().inv_cdf(0.9)
    there = rng.random((DRAWS, CHECKS)) < shares
    lost_min = (there * rng.lognormal(np.log(medians_min), sigmas, (DRAWS, CHECKS))).sum(axis=1)
    kept_min = np.clip(PLANNED_MIN + SLACK_MIN - lost_min, 0, PLANNED_MIN)
    return 100 * kept_min.mean() / PLANNED_MIN, (lost_min <= SLACK_MIN).mean()


def timed(work, times=1):
    """Seconds that one run takes."""
    started = perf_counter()
    for _ in range(times):
        work()
    return (perf_counter() - started) / times


def paired(work, values):
    """How many times faster this is than a simulation, run in turns."""
    return median(timed(lambda: simulated(*values)) / timed(work, times=20) for _ in range(RUNS))


def cold(checks):
    """A forecast in a process that has just started: no lognormal is remembered."""
    discretised.cache_clear()
    return forecast(checks, PLANNED_MIN, SLACK_MIN)


@pytest.mark.benchmark
def test_the_exact_forecast_is_faster_than_a_simulation(capsys):
    """Paired runs, as the product runs (it keeps the lognormals of its catalogue) and from a cold start."""
    values = uncertain_checks()
    checks = [
        [(share, BenchMinutes(*minutes))] for share, *minutes in zip(*(each.tolist() for each in values), strict=True)
    ]
    readiness_pct, chance = simulated(*values)
    exact = forecast(checks, PLANNED_MIN, SLACK_MIN)
    assert exact.readiness_pct == pytest.approx(readiness_pct, abs=1)
    assert exact.chance == pytest.approx(chance, abs=4 * math.sqrt(chance / DRAWS) + 0.005)

    ratio = paired(lambda: forecast(checks, PLANNED_MIN, SLACK_MIN), values)
    from_cold = paired(lambda: cold(checks), values)
    with capsys.disabled():
        sys.stdout.write(f"\nRATIO forecast_vs_monte_carlo {ratio:.0f} >={ASKED}\n")
        sys.stdout.write(f"RATIO forecast_from_cold_vs_monte_carlo {from_cold:.0f} >={ASKED_COLD}\n")
    assert ratio >= ASKED
    assert from_cold >= ASKED_COLD
