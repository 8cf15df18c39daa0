"""The forecast of bench minutes: sums, bounds, order, what is refused."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.catalogue.schema import BenchMinutes
from intake.triage.errors import BenchMinutesError, ImpossibleProbabilityError, SlotError
from intake.triage.forecast import check_distribution, forecast, head, horizon_cells, total
from intake.triage.lognormal import discretised, mean_min
from tests.strategies import bench_minutes, parts

TEN_MINUTES = BenchMinutes(10, 10)
planned = st.integers(1, 400)
slack = st.integers(0, 90)


@given(bench_minutes(), st.integers(2, 400))
def test_a_discretised_lognormal_is_a_distribution(minutes, cells):
    """Every cell is a probability and nothing is lost, however short the grid."""
    pmf = discretised(minutes, cells)
    assert pmf.min() >= 0
    assert pmf.sum() == pytest.approx(1, abs=1e-12)


@given(st.lists(parts(), max_size=8), planned, slack)
def test_a_forecast_is_a_distribution_and_its_figures_stay_in_bounds(checks, planned_min, slack_min):
    """Probabilities sum to one; readiness, chance and quantiles stay where they belong."""
    found = forecast(checks, planned_min, slack_min)
    assert found.pmf.sum() == pytest.approx(1, abs=1e-9)
    assert found.pmf.min() >= 0
    assert 0 <= found.readiness_pct <= 100
    assert 0 <= found.chance <= 1
    assert found.quantile_min(0.1) <= found.quantile_min(0.5) <= found.quantile_min(0.9) <= found.last_min


@given(st.lists(parts(), max_size=6), st.integers(0, 5), bench_minutes(), st.floats(0, 1), planned, slack)
def test_another_fault_never_raises_readiness_or_chance(checks, place, minutes, share, planned_min, slack_min):
    """One more check that may cost minutes can only cost."""
    more = [*checks[:place], [(share, minutes)], *checks[place:]]
    without, with_it = forecast(checks, planned_min, slack_min), forecast(more, planned_min, slack_min)
    assert with_it.readiness_pct <= without.readiness_pct + 1e-9
    assert with_it.chance <= without.chance + 1e-12
    assert with_it.expected_min >= without.expected_min


@given(st.lists(parts(), min_size=1, max_size=5), bench_minutes(), st.floats(0, 1), st.floats(0, 1), planned, slack)
def test_a_more_certain_fault_never_raises_readiness(checks, minutes, one, other, planned_min, slack_min):
    """The likelier of two beliefs in a fault leaves no more of the session."""
    low, high = sorted((one, other))
    hopeful = forecast([*checks, [(low, minutes)]], planned_min, slack_min)
    doubtful = forecast([*checks, [(high, minutes)]], planned_min, slack_min)
    assert doubtful.readiness_pct <= hopeful.readiness_pct + 1e-9
    assert doubtful.chance <= hopeful.chance + 1e-12


@given(st.lists(parts(), max_size=6), slack)
def test_the_head_of_a_sum_is_the_beginning_of_the_whole(checks, slack_min):
    """Convolving only as far as the slack gives the same first cells as convolving all."""
    cells = horizon_cells(120, slack_min)
    known = [one for one in (check_distribution(each, cells) for each in checks) if one is not None]
    np.testing.assert_allclose(head(known, slack_min), total(known, cells)[: slack_min + 1], atol=1e-14)


def test_a_bike_that_needs_nothing_leaves_the_session_whole():
    """No faults at all: readiness 100, every session to plan."""
    found = forecast([], 120, 15)
    assert (found.readiness_pct, found.chance, found.expected_min) == (100, 1, 0)
    assert found.quantile_min(1) == 0


@pytest.mark.parametrize(
    ("slack_min", "lost", "readiness_pct", "chance"), [(10, 1, 100, 1), (9, 1, 99, 0), (0, 3, 70, 0), (0, 12, 0, 0)]
)
def test_minutes_beyond_the_slack_shrink_the_hands_on_time(slack_min, lost, readiness_pct, chance):
    """Certain faults of exactly ten minutes in a session of 100: worked out by hand."""
    found = forecast([[(1.0, TEN_MINUTES)]] * lost, 100, slack_min)
    assert (found.readiness_pct, found.chance) == (pytest.approx(readiness_pct), chance)
    assert found.quantile_min(0.5) == min(10 * lost, found.last_min)


def test_exclusive_faults_are_a_mixture():
    """Ten minutes with probability 0.3, twenty with 0.5, none with 0.2, never thirty."""
    found = forecast([[(0.3, TEN_MINUTES), (0.5, BenchMinutes(20, 20))]], 100, 15)
    assert {n: round(float(p), 12) for n, p in enumerate(found.pmf) if p > 0} == {0: 0.2, 10: 0.3, 20: 0.5}
    assert found.chance == pytest.approx(0.5)
    assert found.readiness_pct == pytest.approx(100 * (0.5 + 0.5 * 0.95))
    assert found.expected_min == pytest.approx(13)


def test_faults_that_lengths_have_shown_together_both_cost():
    """Two certain faults of one check add their minutes."""
    found = forecast([[(1.0, TEN_MINUTES), (1.0, BenchMinutes(20, 20))]], 100, 15)
    assert found.pmf[30] == pytest.approx(1)


def test_nothing_beyond_the_grid_is_dropped():
    """Days of work still count as one session lost, and the mean knows how many minutes they are."""
    found = forecast([[(0.5, BenchMinutes(5000, 9000))]] * 2, 100, 10)
    assert found.pmf[-1] == pytest.approx(0.75)
    assert found.readiness_pct == pytest.approx(25)
    assert found.expected_min == pytest.approx(mean_min(BenchMinutes(5000, 9000)))
    assert found.quantile_min(0.9) == found.last_min


def test_the_grid_always_reaches_beyond_the_slot():
    """The last cell leaves no hands-on minutes, even in a session of a day."""
    for planned_min, slack_min in [(1, 0), (120, 15), (600, 60)]:
        assert horizon_cells(planned_min, slack_min) - 1 > planned_min + slack_min


def test_a_forecast_cannot_be_changed():
    """Its distribution is read-only, as is what the cache hands out."""
    for pmf in (forecast([[(1.0, TEN_MINUTES)]], 100, 10).pmf, discretised(TEN_MINUTES, 50)):
        with pytest.raises(ValueError, match="read-only"):
            pmf[0] = 1


@pytest.mark.parametrize("minutes", [(0, 5), (-1, 5), (5, 4), (math.nan, 5), (5, math.inf)])
def test_minutes_that_cannot_be_are_refused(minutes):
    """The error carries them."""
    with pytest.raises(BenchMinutesError) as refused:
        forecast([[(0.5, BenchMinutes(*minutes))]], 100, 10)
    assert refused.value.minutes == BenchMinutes(*minutes)


@pytest.mark.parametrize("shares", [[-0.1], [1.1], [math.nan], [0.6, 0.6]])
def test_probabilities_that_cannot_be_are_refused(shares):
    """Negative, above one, no number, or exclusive and adding to more than one."""
    with pytest.raises(ImpossibleProbabilityError):
        forecast([[(share, TEN_MINUTES) for share in shares]], 100, 10)


@pytest.mark.parametrize(("planned_min", "slack_min"), [(0, 10), (-5, 10), (100, -1)])
def test_slots_that_cannot_be_are_refused(planned_min, slack_min):
    """No planned minutes, or negative slack."""
    with pytest.raises(SlotError) as refused:
        forecast([], planned_min, slack_min)
    assert (refused.value.planned_min, refused.value.slack_min) == (planned_min, slack_min)


def test_a_quantile_is_a_share():
    """Asking for more than all is refused."""
    with pytest.raises(ImpossibleProbabilityError):
        forecast([], 100, 10).quantile_min(1.2)
