"""Scores and calibration: edges, and what cannot be judged."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from intake.catalogue.schema import BenchMinutes
from intake.experience.calibration import BAND, coverage, judge_forecast, pit_histogram, skill
from intake.experience.errors import JudgedForecastError
from intake.experience.scores import brier, crps, crps_lognormal
from intake.experience.special import share_interval

shares = arrays.arrays(np.float64, st.integers(2, 60), elements=st.floats(0.001, 1)).map(lambda one: one / one.sum())


@given(shares, st.integers(0, 300))
def test_an_outcome_lies_where_its_forecast_says(pmf, lost_min):
    """Place, band and score agree with the forecast's own probabilities."""
    found = judge_forecast(pmf, pmf, lost_min, slack_min=10)
    at = min(lost_min, len(pmf) - 1)
    assert found.pit_high - found.pit_low == pytest.approx(pmf[at], abs=1e-12)
    assert found.crps == found.crps_prior >= 0
    assert found.band_chance >= BAND[1] - BAND[0] - 1e-9
    assert found.within_band == (found.pit_high >= 0.05 - 1e-9 and found.pit_low < 0.95 - 1e-9)


@given(shares, shares)
def test_the_score_is_proper(pmf, truth):
    """Nobody does better on average than with the truth itself."""
    size = max(len(pmf), len(truth))
    pmf, truth = (np.pad(one, (0, size - len(one))) for one in (pmf, truth))
    expected = [sum(truth[at] * crps(one, at) for at in range(size)) for one in (pmf, truth)]
    assert expected[1] <= expected[0] + 1e-9


def test_the_last_cell_is_that_minute_and_more():
    """A forecast that says “four or more” is right however much more it was."""
    assert crps([0, 0, 0, 0, 1], 4) == crps([0, 0, 0, 0, 1], 500) == 0
    assert judge_forecast([0.5, 0.5], [1, 0], 90, 0).pit_high == 1


def test_a_sure_forecast_is_scored_by_how_far_off_it_was():
    """Minutes off, for a point; and in closed form alike."""
    assert crps([0, 1, 0, 0], 3) == 2
    assert crps_lognormal(BenchMinutes(10, 10), 12.5) == 2.5


@pytest.mark.parametrize("pmf", [[], [0.5, 0.4], [1.5, -0.5], [math.nan, 1], [[1.0]]])
def test_what_is_no_distribution_is_not_judged(pmf):
    """Nor is anything else that cannot be."""
    with pytest.raises(JudgedForecastError):
        crps(pmf, 3)


def test_what_cannot_have_happened_is_not_judged():
    """Minutes below nothing, chances above one, no sessions."""
    for attempt in (
        lambda: crps([1.0], -1),
        lambda: crps_lognormal(BenchMinutes(5, 9), 0),
        lambda: brier([], []),
        lambda: brier([1.2], [True]),
        lambda: brier([0.2], [True, False]),
        lambda: pit_histogram([], []),
        lambda: pit_histogram([0.4], [0.3]),
        lambda: coverage([], []),
    ):
        with pytest.raises(JudgedForecastError):
            attempt()


def test_forecasts_that_were_rounded_for_storage_are_judged_as_meant():
    """A few billionths short of one."""
    assert judge_forecast([0.5, 0.499999996], [1, 0], 1, 0).pit_high == 1


@given(st.lists(st.tuples(st.integers(0, 10), st.booleans()), min_size=1, max_size=40))
def test_the_parts_of_a_brier_score_add_up(pairs):
    """Over chances in tenths."""
    parts = brier([tenths / 10 for tenths, _happened in pairs], [happened for _tenths, happened in pairs])
    assert parts.score == pytest.approx(parts.reliability - parts.resolution + parts.uncertainty, abs=1e-12)


def test_points_fall_into_the_tenth_that_they_reach():
    """An outcome of no width, at the ends too, is counted once."""
    assert pit_histogram([0.0, 0.55, 1.0], [0.0, 0.55, 1.0]).tolist() == pytest.approx(
        [1 / 3, 0, 0, 0, 0, 1 / 3, 0, 0, 0, 1 / 3]
    )


def test_skill_and_interval_at_their_edges():
    """A prior that was never wrong, and no trials at all."""
    assert skill([0.0], [0.0]) is None
    assert skill([10.0], [8.0]) == pytest.approx(-0.25)
    assert share_interval(0, 0) == (0.0, 1.0)
